package trail

import (
	"pitwise/engine/document"
	"pitwise/engine/model"
)

// LoadTerms reads a file that holds the terms object of a trail and nothing else. The
// error is Defects, with places from the object on: tools[1].
func LoadTerms(text []byte) (Terms, error) {
	r := document.NewReport(text)
	root, ok := r.Read(document.Limits{Bytes: maxTermsBytes, Depth: maxDepth, Values: maxTermsBytes / 2})
	if ok {
		document.Check(r, root, termsShape)
	}
	if err := r.Err(ErrInvalid); err != nil {
		return Terms{}, err
	}
	return decodeTerms(root), nil
}

// maxTermsBytes is the largest file of terms: a model has at most some hundred tools.
const maxTermsBytes = 1 << 20

func decodeTerms(v document.Value) Terms {
	return Terms{
		MinuteValue:  number(v.Get("minute_value")),
		Currency:     text(v.Get("currency")),
		Tools:        texts[model.ToolID](v.Get("tools")),
		WorkingValue: number(v.Get("working_value")),
		AsIsValue:    number(v.Get("as_is_value")),
		ComebackCost: number(v.Get("comeback_cost")),
		Exchange:     number(v.Get("exchange")),
	}
}
