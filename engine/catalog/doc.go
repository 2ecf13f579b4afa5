// Package catalog holds the models that Pitwise ships: what can be wrong with three
// families of disc drives, what can be seen of it, and what can be done.
//
// # How a model is put together
//
// What the families share is written once, in parts (parts/optics.json). A family
// (families/tray.json) names the parts that it takes and adds its own. Loading
// composes one plain model, in the form that package model reads; its text, and so
// its sha256, depends on these files alone. A number corrected in a part is
// corrected in every family.
//
// # Grammar of a part
//
//	{"format": "pitwise/part", "id": "optics", "title": "…",
//	 "sources": …, "cautions": …, "tools": …, "components": …, "tests": …, "repairs": …,
//	 "rows":  {"first-boot": {"lens.dirty": [ … ]}},
//	 "fixes": {"replace-board": {"fuse.open": 0.9}}, "risks": …}
//
// Blocks have the form of a model's, with three differences. "at" names a place of
// work (lens, live, under), which each family maps to a setup. Texts may hold words in
// braces, {load}, which each family spells out. And a row, fix or risk may name a
// mode of a part that a family does not take: it falls away there. A mode that no
// part has is a defect. The members rows, fixes and risks add to tests and repairs of
// other parts.
//
// # Grammar of a family
//
// A family has a model's head (id, revision, title, text, most_faults), setups, and
// all that a part may have; besides:
//
//	"takes": ["common", "optics"]          parts, in the order of the model's blocks
//	"where": {"lens": "closed"}            place of work to setup; its own blocks may name a setup
//	"dangers": {"view": ["mains"]}         cautions of whatever is done at that place
//	"words": {"load": "Shut the lid."}     every one must be used
//	"change": {"modes":   {"lens.dirty": {"prior": 0.2}},
//	           "tests":   {"motor-rest": {"bands": {"low": {"to": 7.6}}}},
//	           "repairs": {"clean-lens": {"minutes": 9}}}
//	"twins": [{"id": "open-start", "of": "bench-start", "at": "open"}]
//
// A change puts fields in the place of a block's own; in given, fixes and risks it
// does so mode by mode. Changing what is not there is a defect. A twin is a test of a
// part once more, at another place of work: all that it does not say, rows and words
// included, is the test's own, and the family does not change that test. Sources, cautions
// and tools that no block names are left out of the model.
//
// # Other languages
//
// Speak gives a model its texts in another language. They are in words/<lang>/<part>.json,
// one file a part and family:
//
//	{"format": "pitwise/words", "lang": "de", "of": "switch",
//	 "texts": {"tests/switch-ohms/title": "{switch-ohms}",
//	           "tests/switch-ohms/steps": ["…", "{press-switch}", "…"],
//	           "tests/switch-ohms/outcomes/right/title": "Unter 2 Ω"}}
//
// A file has exactly the texts of its part, lists as long, with the same words in braces;
// a family's has its words as well ("words/load"). The package's tests hold that.
//
// # Places on the drive picture
//
// Shared: disc, hub, clamp, spindle, lens, laser, sled, sled-motor, home-switch,
// flex, board, fuse, supply-plug, supply. Besides, lid-switch (top-loader),
// tray-switch and tray-drive (tray), seat-switch, entry and rollers (slot-in).
//
// # Costs
//
// A model is composed when it is first asked for, then kept. All functions may be
// called from several goroutines.
package catalog
