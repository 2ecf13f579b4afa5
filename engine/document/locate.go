package document

import (
	"strconv"
	"strings"
)

// Located gives each defect that names a place in text the line and column of that
// place, and puts the defects into document order; those whose place is not in the
// text follow as they are. It is for checks of what was loaded, which know places but
// no lines. Places are of plain names and numbers, as in events[3].causes[0].
func Located(text []byte, l Limits, defects Defects) Defects {
	return NewReport(text).Locate(l, defects)
}

// Locate is Located for what a report, in which nothing is yet, is of. In a part a defect without a
// place is one of the whole part.
func (r *Report) Locate(l Limits, defects Defects) Defects {
	root, ok := r.Read(l)
	if !ok {
		return defects
	}
	part := r.tree.of != ""
	var rest []Defect
	for _, d := range defects.List {
		switch v := at(root, d.Place); {
		case d.Place == "" && !part:
			rest = append(rest, d)
		case v.Exists():
			r.Add(v, "%s", d.Found)
		case part:
			r.Add(root, "%s", d.Text())
		default:
			rest = append(rest, d)
		}
	}
	all := r.Defects()
	return Defects{Kind: defects.Kind, List: append(all.List, rest...), More: all.More + defects.More}
}

// at returns the value at a place; the zero Value if there is none.
func at(v Value, place string) Value {
	for place != "" {
		if index, rest, ok := strings.Cut(strings.TrimPrefix(place, "["), "]"); ok && place[0] == '[' {
			n, err := strconv.Atoi(index)
			if err != nil {
				return Value{}
			}
			var item Value
			for i, each := range v.Items() {
				if i == n {
					item = each
					break
				}
			}
			v, place = item, rest
			continue
		}
		place = strings.TrimPrefix(place, ".")
		end := strings.IndexAny(place, ".[")
		if end < 0 {
			end = len(place)
		}
		if end == 0 {
			return Value{}
		}
		v, place = v.Get(place[:end]), place[end:]
	}
	return v
}
