package trail

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pitwise/engine/model"
)

// exampleText is the example of the format's description, its places for times and
// digests filled in.
const exampleText = `{
  "format": "pitwise/trail", "version": 1, "id": "01J000", "created": "2026-03-04T10:11:12Z",
  "model": {"id": "example", "revision": "1", "sha256": "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"},
  "unit": {"label": "Grey top-loader, shelf 3", "notes": ""},
  "terms": {"minute_value": 0.5, "currency": "EUR", "tools": ["multimeter"],
    "working_value": 60, "as_is_value": 10, "comeback_cost": 40},
  "events": [
    {"n": 1, "at": "2026-03-04T10:12:00Z", "kind": "result", "test": "first-boot", "outcome": "asks"},
    {"n": 2, "at": "2026-03-04T10:13:00Z", "kind": "setup", "setup": "open"},
    {"n": 3, "at": "2026-03-04T10:14:00.25+02:00", "kind": "result", "test": "rail", "reading": 4.74},
    {"n": 4, "at": "2026-03-04T10:15:00Z", "kind": "skip", "test": "rail", "reason": "no meter today"},
    {"n": 5, "at": "2026-03-04T10:16:00Z", "kind": "repair", "repair": "clean-lens"},
    {"n": 6, "at": "2026-03-04T10:17:00Z", "kind": "note", "text": "..."},
    {"n": 7, "at": "2026-03-04T10:18:00Z", "kind": "void", "of": 3, "reason": "probe slipped"},
    {"n": 8, "at": "2026-03-04T10:19:00Z", "kind": "end", "as": "signed-off", "causes": ["lens.dirty"]}
  ]
}
`

func TestTheExampleOfTheFormatLoadsWhole(t *testing.T) {
	got, err := Load([]byte(exampleText))
	require.NoError(t, err)
	reading := 4.74
	assert.Equal(t, &Trail{
		ID: "01J000", Created: "2026-03-04T10:11:12Z",
		Model: ModelRef{ID: "example", Revision: "1", SHA256: strings.Repeat("0123456789abcdef", 4)},
		Unit:  Unit{Label: "Grey top-loader, shelf 3"},
		Terms: Terms{MinuteValue: 0.5, Currency: "EUR", Tools: []model.ToolID{"multimeter"}, WorkingValue: 60, AsIsValue: 10, ComebackCost: 40},
		Events: []Event{
			{N: 1, At: "2026-03-04T10:12:00Z", Kind: Result, Test: "first-boot", Outcome: "asks"},
			{N: 2, At: "2026-03-04T10:13:00Z", Kind: Setup, Setup: "open"},
			{N: 3, At: "2026-03-04T10:14:00.25+02:00", Kind: Result, Test: "rail", Reading: &reading},
			{N: 4, At: "2026-03-04T10:15:00Z", Kind: Skip, Test: "rail", Reason: "no meter today"},
			{N: 5, At: "2026-03-04T10:16:00Z", Kind: Repair, Repair: "clean-lens"},
			{N: 6, At: "2026-03-04T10:17:00Z", Kind: Note, Text: "..."},
			{N: 7, At: "2026-03-04T10:18:00Z", Kind: Void, Of: 3, Reason: "probe slipped"},
			{N: 8, At: "2026-03-04T10:19:00Z", Kind: End, As: SignedOff, Causes: []model.ModeID{"lens.dirty"}},
		},
	}, got)
	assert.Equal(t, exampleText, string(got.Encode()), "Encode lays a trail out as the description does")
}

func TestATrailCarriesTheExactTextOfItsModel(t *testing.T) {
	tr, err := Load([]byte(exampleText))
	require.NoError(t, err)
	tr.ModelText = "{\"a\": \"\\u00e9\t\u2028é\"}\r\n"
	sum := sha256.Sum256([]byte(tr.ModelText))
	tr.Model.SHA256 = hex.EncodeToString(sum[:])
	again, err := Load(tr.Encode())
	require.NoError(t, err)
	assert.Equal(t, tr, again)

	tr.ModelText += " "
	_, err = Load(tr.Encode())
	require.ErrorIs(t, err, ErrInvalid)
	assert.Contains(t, err.Error(), "trail: model_text: the text has the SHA-256 ")
}
