package model

import (
	"strings"

	"pitwise/engine/document"
)

// Limits of a model file.
const (
	MaxBytes      = 4 << 20
	MaxComponents = 64
	MaxModes      = 8 // of a component
	MaxSetups     = 64
	MaxTests      = 256
	MaxOutcomes   = 12 // of a test
	MaxRepairs    = 256
	MaxFaults     = 6         // of most_faults
	MaxHypotheses = 2_000_000 // kept
)

// maxDepth bounds lists and objects inside each other; a model has 5.
const maxDepth = 64

// maxValues is above what MaxBytes can hold: two bytes are the shortest value.
const maxValues = MaxBytes/2 + 1

// IDForm is the form of an id; ModeForm that of a mode, "component.mode"; CurrencyForm that
// of a currency.
var (
	IDForm       = &document.Form{Noun: "an id ([a-z0-9][a-z0-9-]*)", Pattern: "^[a-z0-9][a-z0-9-]*$", Match: isID}
	ModeForm     = &document.Form{Noun: "a mode (component.mode)", Pattern: `^[a-z0-9][a-z0-9-]*\.[a-z0-9][a-z0-9-]*$`, Match: isMode}
	CurrencyForm = &document.Form{Noun: "a currency of three capital letters (ISO 4217)", Pattern: "^[A-Z]{3}$", Match: isCurrency}
)

func isID(s string) bool {
	return s != "" && s[0] != '-' && strings.TrimLeft(s, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
}

func isMode(s string) bool {
	component, mode, ok := strings.Cut(s, ".")
	return ok && isID(component) && isID(mode)
}

func isCurrency(s string) bool {
	return len(s) == 3 && strings.TrimLeft(s, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
}

// The form of a model file, field by field. The decoder and the schema both follow
// it; load.go checks what it cannot say.
var (
	plainText   = document.Text{}
	id          = document.Text{Form: IDForm}
	ids         = document.Items{Each: id}
	cost        = document.Real{Least: document.Bound(0)}
	probability = document.Real{Least: document.Bound(0), Most: document.Bound(1)}
	positive    = document.Real{Above: document.Bound(0)}
	finite      = document.Real{}
	row         = document.Items{Least: 1, Most: MaxOutcomes, Each: positive}
	chances     = document.Map{Key: ModeForm, Each: probability}

	wordFields = []document.Field{
		{Name: "title", Shape: plainText, Doc: "What people see, a few words."},
		{Name: "text", Shape: plainText, Doc: "A paragraph for people."},
		{Name: "steps", Shape: document.Items{Each: plainText}, Doc: "What to do, one step an entry."},
		{Name: "why", Shape: plainText, Doc: "What the result tells, in a sentence."},
	}

	idField       = document.Field{Name: "id", Shape: id, Required: true, Doc: "Unique among its like; a-z, 0-9 and hyphens."}
	sourceField   = document.Field{Name: "source", Shape: id, Doc: "The id in sources of where the numbers here come from."}
	minutesField  = document.Field{Name: "minutes", Shape: cost, Required: true, Doc: "Time it takes, minutes."}
	moneyField    = document.Field{Name: "money", Shape: cost, Required: true, Doc: "What it uses up, in the currency of the model, of the terms if it states none."}
	cautionsField = document.Field{Name: "cautions", Shape: ids, Doc: "Ids of the cautions that are shown before the steps."}
	needsField    = document.Field{Name: "needs", Shape: ids, Doc: "Ids of the tools that must be at hand."}
	atField       = document.Field{Name: "at", Shape: id, Required: true, Doc: "The id of the setup it is done in."}
	fixesField    = document.Field{Name: "fixes", Shape: chances, Doc: "The probability that it removes each of these modes."}
	risksField    = document.Field{Name: "risks", Shape: chances, Doc: "The probability that it brings in each of these modes, at most one of a component."}

	sourceShape = &document.Record{Name: "source", Doc: "Where numbers come from.", Fields: words(
		document.Field{Name: "kind", Shape: document.Text{Enum: []string{string(Published), string(Practice), string(Memory)}}, Required: true, Doc: "How far the numbers can be trusted."},
		document.Field{Name: "cite", Shape: plainText, Required: true, Doc: "The work and the clause or table."},
		document.Field{Name: "weight", Shape: positive, Since: 2, Doc: "To how many watched units its numbers are worth; without it published 200, practice 30, memory 8."},
	)}
	cautionShape = &document.Record{Name: "caution", Doc: "A danger that is shown before the steps that carry it.", Fields: words(idField)}
	toolShape    = &document.Record{Name: "tool", Doc: "Something a test or a repair may need at hand.", Fields: words(idField)}
	stepShape    = &document.Record{Name: "step", Doc: "The work of entering or leaving a setup.", Fields: words(
		minutesField, moneyField, cautionsField, fixesField, risksField, sourceField,
	)}
	setupShape = &document.Record{Name: "setup", Doc: "A way the unit stands. Setups form a tree.", Fields: words(
		idField,
		document.Field{Name: "inside", Shape: id, Doc: "The id of the setup that this one is entered from; the root has none."},
		cautionsField,
		document.Field{Name: "enter", Shape: stepShape, Doc: "From the setup that this one is inside; free if absent."},
		document.Field{Name: "leave", Shape: stepShape, Doc: "Back to the setup that this one is inside; free if absent."},
	)}
	modeShape = &document.Record{Name: "mode", Doc: "One way for a component to be at fault.", Fields: words(
		idField,
		document.Field{Name: "prior", Shape: positive, Required: true, Doc: "The probability of it before anything is seen; a component's add up to less than 1."},
		sourceField,
	)}
	componentShape = &document.Record{Name: "component", Doc: "It is sound or in exactly one of its modes.", Fields: words(
		idField,
		document.Field{Name: "place", Shape: plainText, Doc: "The spot on the drive picture."},
		document.Field{Name: "modes", Shape: document.Items{Least: 1, Most: MaxModes, Each: modeShape}, Required: true, Doc: "The ways for it to be at fault."},
	)}
	readingShape = &document.Record{Name: "reading", Doc: "A measured quantity, and the meter's limits of error.", Fields: words(
		document.Field{Name: "unit", Shape: plainText, Required: true, Doc: "The unit of the number."},
		document.Field{Name: "nominal", Shape: finite, Doc: "What it should be, in the unit."},
		document.Field{Name: "percent", Shape: cost, Doc: "Limit of error, % of the reading; 0 if absent."},
		document.Field{Name: "absolute", Shape: cost, Doc: "Limit of error, in the unit; 0 if absent."},
	)}
	outcomeShape = &document.Record{Name: "outcome", Doc: "One thing that a test can show.", Fields: words(
		idField,
		document.Field{Name: "from", Shape: finite, Doc: "Least reading that counts as it; unbounded if absent."},
		document.Field{Name: "to", Shape: finite, Doc: "Readings from here on no longer count as it; unbounded if absent."},
	)}
	testShape = &document.Record{Name: "test", Doc: "Something that can be looked at, with the odds of what is seen.", When: ToldHasNone, Fields: words(
		idField,
		document.Field{Name: "intake", Shape: document.Flag{}, Doc: "True for the one test that every unit comes in with."},
		document.Field{Name: "told", Shape: document.Flag{}, Since: 2, Doc: "True for a question to whoever brings the unit in: it has no setup, takes nothing, and is never a step."},
		document.Field{Name: "proof", Shape: document.Flag{}, Since: 2, Doc: "True for the run whose best outcome is the sign that a unit works; without it the intake test is."},
		atField, minutesField, moneyField, needsField, cautionsField,
		document.Field{Name: "reading", Shape: readingShape, Doc: "For a test that takes a number."},
		document.Field{Name: "outcomes", Shape: document.Items{Least: 1, Most: MaxOutcomes, Each: outcomeShape}, Required: true, Doc: "What can be seen, best first."},
		document.Field{Name: "healthy", Shape: row, Required: true, Doc: "The probability of each outcome when nothing in given is wrong; they add up to 1."},
		document.Field{Name: "given", Shape: document.Map{Key: ModeForm, Each: row}, Doc: "By mode: the probability of each outcome when that mode is the only fault; they add up to 1."},
		document.Field{Name: "steadiness", Shape: positive, Required: true, Doc: "Near 0 a repeat copies the first result; large means that every try is a fresh draw."},
		sourceField,
	)}
	seenShape = &document.Record{Name: "seen", Doc: "A test, and what it has to have shown.", Fields: []document.Field{
		{Name: "test", Shape: id, Required: true, Doc: "The id of the test."},
		{Name: "outcomes", Shape: document.Items{Least: 1, Most: MaxOutcomes, Each: id}, Required: true, Doc: "The ids of its outcomes that will do."},
	}}
	onlyAfterShape = &document.Record{Name: "only-after", Doc: "What has to be seen before a repair is on offer.", Fields: []document.Field{
		{Name: "any", Shape: document.Items{Least: 1, Each: seenShape}, Required: true, Doc: "One of these will do: the last result of that test is one of those outcomes."},
		{Name: "strict", Shape: document.Flag{}, Doc: "True if the repair is not on offer either where the tools at hand allow none of the tests."},
	}}
	repairShape = &document.Record{Name: "repair", Doc: "It takes faults away, and may bring some in.", Fields: words(
		idField, atField, minutesField, moneyField, needsField, cautionsField, fixesField, risksField,
		document.Field{Name: "steadiness", Shape: positive, Since: 2, Doc: "What failed will fail again: after n tries without success the next removes a fault with steadiness * p / (steadiness + n). Without it every try is a fresh draw."},
		document.Field{Name: "only_after", Shape: onlyAfterShape, Since: 2, Doc: "What has to be seen before it is on offer."},
		sourceField,
	)}
	modelShape = &document.Record{Name: "model", Doc: "What can be wrong with a kind of unit, what can be seen of it and what can be done about it.", Fields: words(
		document.Field{Name: "format", Shape: document.Text{Enum: []string{formatName}}, Required: true, Doc: "What kind of file this is."},
		document.Field{Name: "version", Shape: document.Real{Whole: true, Least: document.Bound(1), Most: document.Bound(Newest)}, Required: true, Doc: "The version of the format."},
		idField,
		document.Field{Name: "revision", Shape: plainText, Required: true, Doc: "Tells versions of this model apart."},
		document.Field{Name: "most_faults", Shape: document.Real{Whole: true, Least: document.Bound(1), Most: document.Bound(MaxFaults)}, Required: true, Doc: "The largest number of components held to be faulty at once."},
		document.Field{Name: "currency", Shape: document.Text{Form: CurrencyForm}, Since: 2, Doc: "What all money here is in, three letters by ISO 4217."},
		document.Field{Name: "sources", Shape: document.Map{Key: IDForm, Each: sourceShape}, Doc: "Where numbers come from, by id."},
		document.Field{Name: "cautions", Shape: document.Items{Each: cautionShape}, Doc: "Dangers."},
		document.Field{Name: "tools", Shape: document.Items{Each: toolShape}, Doc: "Tools that tests or repairs need."},
		document.Field{Name: "setups", Shape: document.Items{Least: 1, Most: MaxSetups, Each: setupShape}, Required: true, Doc: "The ways the unit can stand: a tree, whose root is the one without inside."},
		document.Field{Name: "components", Shape: document.Items{Least: 1, Most: MaxComponents, Each: componentShape}, Required: true, Doc: "What can be at fault."},
		document.Field{Name: "tests", Shape: document.Items{Least: 1, Most: MaxTests, Each: testShape}, Required: true, Doc: "What can be looked at; exactly one is the intake test."},
		document.Field{Name: "repairs", Shape: document.Items{Most: MaxRepairs, Each: repairShape}, Doc: "What can be done."},
	)}
)

// ToldHasNone is what a told test may not have.
var ToldHasNone = &document.When{Flag: "told", Without: []string{"at", "minutes", "money", "needs", "cautions", "proof"}, Found: "a told test has none"}

// Newest is the newest version of the format.
const Newest = 2

// formatName is the format field of every model file.
const formatName = "pitwise/model"

// words adds the optional texts that any part may carry.
func words(fields ...document.Field) []document.Field {
	return append(fields, wordFields...)
}

// Schema returns the form of a model file as a JSON Schema (draft 2020-12). A file
// that fails it is not valid; of one that passes, Load checks references, sums,
// ratios, intervals and trees besides, and that a file of version 1 has no fields of version 2.
func Schema() []byte { return document.Schema("A model of Pitwise", modelShape) }
