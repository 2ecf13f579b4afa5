package catalog

import (
	"pitwise/engine/document"
	"pitwise/engine/model"
)

// The forms of the two kinds of files. Whether numbers make sense (rows, bands,
// sums) is left to model.Load, which reads what is composed of them.
var (
	text   = document.Text{}
	id     = document.Text{Form: model.IDForm}
	ids    = document.Items{Each: id}
	steps  = document.Items{Each: text}
	number = document.Real{}
	row    = document.Items{Least: 1, Each: number}
	rows   = document.Map{Key: model.ModeForm, Each: row}
	chance = document.Map{Key: model.ModeForm, Each: number}
	notes  = []document.Field{optional("title", text), optional("text", text), optional("steps", steps), optional("why", text)}

	readingFields = with(notes, required("unit", text), optional("nominal", number), optional("percent", number), optional("absolute", number))
	bandFields    = []document.Field{optional("title", text), optional("from", number), optional("to", number)}
	stepFields    = with(notes, required("minutes", number), required("money", number), optional("cautions", ids), optional("fixes", chance), optional("risks", chance), required("source", id))
	doneFields    = with(notes, required("id", id), required("at", id), required("minutes", number), required("money", number), optional("needs", ids), optional("cautions", ids), required("source", id))

	onlyAfter = object([]document.Field{
		required("any", document.Items{Least: 1, Each: object([]document.Field{required("test", id), required("outcomes", ids)})}),
		optional("strict", document.Flag{}),
	})

	blockFields = []document.Field{
		optional("sources", document.Map{Key: model.IDForm, Each: object(with(notes, required("kind", text), required("cite", text), optional("weight", number)))}),
		optional("cautions", document.Items{Each: object(with(notes, required("id", id)))}),
		optional("tools", document.Items{Each: object(with(notes, required("id", id)))}),
		optional("components", document.Items{Each: object(with(notes, required("id", id), required("place", text),
			required("modes", document.Items{Least: 1, Each: object(with(notes, required("id", id), required("prior", number), required("source", id)))})))}),
		optional("tests", document.Items{Each: &document.Record{When: model.ToldHasNone, Fields: with(doneFields, optional("intake", document.Flag{}),
			optional("told", document.Flag{}), optional("proof", document.Flag{}), optional("reading", object(readingFields)),
			required("outcomes", document.Items{Least: 1, Each: object(with(notes, required("id", id), optional("from", number), optional("to", number)))}),
			required("healthy", row), required("given", rows), required("steadiness", number))}}),
		optional("repairs", document.Items{Each: object(with(doneFields, required("fixes", chance), required("risks", chance), optional("steadiness", number), optional("only_after", onlyAfter)))}),
		optional("rows", document.Map{Key: model.IDForm, Each: rows}),
		optional("fixes", document.Map{Key: model.IDForm, Each: chance}),
		optional("risks", document.Map{Key: model.IDForm, Each: chance}),
	}

	partForm = object(append([]document.Field{
		required("format", document.Text{Enum: []string{"pitwise/part"}}),
		required("id", id), required("title", text),
	}, blockFields...))

	familyForm = object(append([]document.Field{
		required("format", document.Text{Enum: []string{"pitwise/family"}}),
		required("id", id), required("title", text), optional("text", text), required("revision", text),
		required("most_faults", document.Real{Whole: true}), optional("currency", document.Text{Form: model.CurrencyForm}),
		required("takes", ids),
		required("where", document.Map{Key: model.IDForm, Each: id}),
		optional("dangers", document.Map{Key: model.IDForm, Each: ids}),
		required("words", document.Map{Key: model.IDForm, Each: text}),
		required("setups", document.Items{Least: 1, Each: object(with(notes, required("id", id), optional("inside", id), optional("cautions", ids),
			optional("enter", object(stepFields)), optional("leave", object(stepFields))))}),
		optional("twins", document.Items{Each: object(with(notes, required("id", id), required("of", id), required("at", id), optional("minutes", number), optional("cautions", ids)))}),
		optional("change", object([]document.Field{
			optional("modes", document.Map{Key: model.ModeForm, Each: object(with(notes, optional("prior", number), optional("source", id)))}),
			optional("tests", document.Map{Key: model.IDForm, Each: object(with(notes, optional("at", id), optional("minutes", number), optional("money", number),
				optional("needs", ids), optional("cautions", ids), optional("proof", document.Flag{}), optional("reading", object(readingFields)),
				optional("bands", document.Map{Key: model.IDForm, Each: object(bandFields)}),
				optional("healthy", row), optional("given", rows), optional("steadiness", number), optional("source", id)))}),
			optional("repairs", document.Map{Key: model.IDForm, Each: object(with(notes, optional("at", id), optional("minutes", number), optional("money", number),
				optional("needs", ids), optional("cautions", ids), optional("fixes", chance), optional("risks", chance), optional("steadiness", number), optional("only_after", onlyAfter), optional("source", id)))}),
		})),
	}, blockFields...))
)

func required(name string, shape document.Shape) document.Field {
	return document.Field{Name: name, Shape: shape, Required: true}
}

func optional(name string, shape document.Shape) document.Field {
	return document.Field{Name: name, Shape: shape}
}

func object(fields []document.Field) *document.Record { return &document.Record{Fields: fields} }

func with(fields []document.Field, more ...document.Field) []document.Field {
	return append(append([]document.Field(nil), fields...), more...)
}
