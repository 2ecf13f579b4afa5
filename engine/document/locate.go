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
	r := NewReport(text)
	root, ok := r.Read(l)
	if !ok {
		return defects
	}
	var rest []Defect
	for _, d := range defects.List {
		if v := at(root, d.Place); d.Place != "" && v.Exists() {
			r.Add(v, "%s", d.Found)
		} else {
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
