package trail

import (
	"strings"
	"time"

	"pitwise/engine/document"
	"pitwise/engine/model"
)

// MaxBytes is the largest trail file: room for the text of the largest model, every
// character of it escaped, and for as much again.
const MaxBytes = 16 << 20

// Limits are those of a trail's text: the largest that any loader of one file takes, so that
// they bound a text of which it is not known yet what it is.
var Limits = document.Limits{Bytes: MaxBytes, Depth: maxDepth, Values: maxValues}

const (
	// maxDepth bounds lists and objects inside each other; a trail has 4.
	maxDepth = 64
	// maxValues bounds values and keys: over 100,000 events.
	maxValues = 2 << 20
)

// Newest is the newest version of the format.
const Newest = 2

// formatName is the format field of every trail file.
const formatName = "pitwise/trail"

var (
	timeForm = &document.Form{Noun: "a time as in RFC 3339 (2026-03-04T10:11:12Z)", Pattern: `^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)$`, Format: "date-time", Match: isTime}
	// DigestForm is the form of a SHA-256 in hexadecimal.
	DigestForm = &document.Form{Noun: "a SHA-256 of 64 digits 0-9, a-f", Pattern: "^[0-9a-f]{64}$", Match: isDigest}
	filledForm = &document.Form{Noun: "a text with at least one character", Pattern: `^[\s\S]+$`, Match: func(s string) bool { return s != "" }}
)

func isDigest(s string) bool { return len(s) == 64 && strings.TrimLeft(s, "0123456789abcdef") == "" }

func isTime(s string) bool { return isWrittenAsTime(s) && isMoment(s) }

// isWrittenAsTime reports what the pattern of a time says.
func isWrittenAsTime(s string) bool {
	const second = "0000-00-00T00:00:00"
	if len(s) < len(second) || !isLike(s[:len(second)], second) {
		return false
	}
	zone := s[len(second):]
	if fraction, ok := strings.CutPrefix(zone, "."); ok {
		zone = strings.TrimLeft(fraction, "0123456789")
		if zone == fraction {
			return false
		}
	}
	return zone == "Z" || isLike(zone, "+00:00") || isLike(zone, "-00:00")
}

// isLike reports whether s is the sample with any digit for each of its zeros.
func isLike(s, sample string) bool {
	if len(s) != len(sample) {
		return false
	}
	for i := range len(s) {
		digit := sample[i] == '0' && '0' <= s[i] && s[i] <= '9'
		if !digit && s[i] != sample[i] {
			return false
		}
	}
	return true
}

// isMoment reports whether a text that is written as a time names a moment that there is: leap
// seconds, which clocks in browsers do not have, are none.
func isMoment(s string) bool {
	if zone := s[len(s)-6:]; s[len(s)-1] != 'Z' && (zone[1:3] > "23" || zone[4:6] > "59") {
		return false // time.Parse takes any offset
	}
	_, err := time.Parse(time.RFC3339, s)
	return err == nil
}

// The form of a trail file, field by field. The decoder and the schema both follow
// it; load.go checks what it cannot say.
var (
	plainText = document.Text{}
	id        = document.Text{Form: model.IDForm}
	moment    = document.Text{Form: timeForm}
	amount    = document.Real{Least: document.Bound(0)}
	counting  = document.Real{Whole: true, Least: document.Bound(1)}

	reasonField = document.Field{Name: "reason", Shape: plainText, Doc: "Why."}
	testField   = document.Field{Name: "test", Shape: id, Required: true, Doc: "The id of the test."}

	termsShape = &document.Record{Name: "terms", Doc: "What the person's time, parts and units are worth.", Fields: []document.Field{
		{Name: "minute_value", Shape: amount, Required: true, Doc: "What a minute is worth, in the currency."},
		{Name: "currency", Shape: document.Text{Form: model.CurrencyForm}, Required: true, Doc: "Three letters by ISO 4217."},
		{Name: "exchange", Shape: document.Real{Above: document.Bound(0)}, Since: 2, Doc: "How much of the currency one unit of the model's currency is worth; 1 if absent."},
		{Name: "tools", Shape: document.Items{Each: id}, Doc: "The ids of the tools at hand."},
		{Name: "working_value", Shape: amount, Required: true, Doc: "What the unit is worth working."},
		{Name: "as_is_value", Shape: amount, Required: true, Doc: "What it is worth as it is."},
		{Name: "comeback_cost", Shape: amount, Required: true, Doc: "What a unit that comes back costs, beyond its value."},
	}}

	eventShape = &document.Union{
		Name: "event", Doc: "One thing that was done.", Tag: "kind",
		Common: []document.Field{
			{Name: "n", Shape: counting, Required: true, Doc: "1, 2, 3 and so on without gaps."},
			{Name: "at", Shape: moment, Required: true, Doc: "When, by RFC 3339."},
		},
		Kinds: []document.Variant{
			{Tag: string(Result), Doc: "A test was done: what was seen, or the number that was read.", OneOf: []string{"outcome", "reading"}, Fields: []document.Field{
				testField,
				{Name: "outcome", Shape: id, Doc: "The id of the outcome."},
				{Name: "reading", Shape: document.Real{}, Doc: "The number, in the test's unit."},
			}},
			{Tag: string(Setup), Doc: "The unit was put into a setup.", Fields: []document.Field{
				{Name: "setup", Shape: id, Required: true, Doc: "The id of the setup."},
			}},
			{Tag: string(Repair), Doc: "A repair was done.", Fields: []document.Field{
				{Name: "repair", Shape: id, Required: true, Doc: "The id of the repair."},
			}},
			{Tag: string(Skip), Doc: "A test cannot be done now.", Fields: []document.Field{testField, reasonField}},
			{Tag: string(Note), Doc: "Something to remember.", Fields: []document.Field{
				{Name: "text", Shape: plainText, Required: true, Doc: "The note."},
			}},
			{Tag: string(Void), Doc: "An earlier event is as if never recorded.", Fields: []document.Field{
				{Name: "of", Shape: counting, Required: true, Doc: "The n of that event."},
				reasonField,
			}},
			{Tag: string(NewTerms), Since: 2, Doc: "The terms that stand from here on.", Fields: []document.Field{
				{Name: "terms", Shape: termsShape, Required: true, Doc: "All of them, in place of the earlier ones."},
			}},
			{Tag: string(Wait), Since: 2, Doc: "The unit waits, until the next event that is no note.", Fields: []document.Field{
				{Name: "for", Shape: plainText, Required: true, Doc: "What it waits for."},
			}},
			{Tag: string(End), Doc: "The unit left the bench.", Fields: []document.Field{
				{Name: "as", Shape: document.Text{Enum: []string{string(SignedOff), string(WrittenOff), string(Returned)}}, Required: true, Doc: "How."},
				{Name: "causes", Shape: document.Items{Each: document.Text{Form: model.ModeForm}}, Doc: "The modes that turned out to be at fault."},
			}},
		},
	}

	trailShape = &document.Record{Name: "trail", Doc: "What was done to one unit, in order.", Fields: []document.Field{
		{Name: "format", Shape: document.Text{Enum: []string{formatName}}, Required: true, Doc: "What kind of file this is."},
		{Name: "version", Shape: document.Real{Whole: true, Least: document.Bound(1), Most: document.Bound(Newest)}, Required: true, Doc: "The version of the format."},
		{Name: "id", Shape: document.Text{Form: filledForm}, Required: true, Doc: "Tells this trail from all others."},
		{Name: "created", Shape: moment, Required: true, Doc: "When the unit was taken in, by RFC 3339."},
		{Name: "model", Required: true, Doc: "The model that the trail was recorded under.", Shape: &document.Record{Name: "model", Fields: []document.Field{
			{Name: "id", Shape: id, Required: true, Doc: "The id of the model."},
			{Name: "revision", Shape: plainText, Required: true, Doc: "The revision of the model."},
			{Name: "sha256", Shape: document.Text{Form: DigestForm}, Required: true, Doc: "Of the model file's bytes, hexadecimal."},
		}}},
		{Name: "unit", Required: true, Doc: "The thing on the bench.", Shape: &document.Record{Name: "unit", Fields: []document.Field{
			{Name: "label", Shape: plainText, Required: true, Doc: "What the person calls it."},
			{Name: "notes", Shape: plainText, Doc: "Anything else."},
		}}},
		{Name: "terms", Required: true, Doc: "What time, parts and units are worth, and the tools at hand.", Shape: termsShape},
		{Name: "events", Shape: document.Items{Each: eventShape}, Required: true, Doc: "Everything that was done; nothing is ever removed."},
		{Name: "model_text", Shape: plainText, Doc: "The exact text of the model, whose bytes have the sha256 given."},
	}}
)

// Schema returns the form of a trail file as a JSON Schema (draft 2020-12). A file
// that fails it is not valid; of one that passes, Load checks the numbers of events
// and the digest besides.
func Schema() []byte { return document.Schema("A trail of Pitwise", trailShape) }
