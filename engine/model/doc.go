// Package model holds what can be wrong with a kind of unit, what can be seen of it
// and what can be done about it, with numbers. Load reads it from a file and reports
// every defect of that file at once.
//
// # Grammar of a model file
//
// A model file is one JSON object in UTF-8, at most 4 MiB. Fields that are not named
// here are defects, names being case-sensitive; so are keys given twice. Ids match
// [a-z0-9][a-z0-9-]* and are unique among their like; a mode is written
// component.mode. Any object may carry the texts title, text, steps (a list) and why.
// What stands in brackets may be absent.
//
//	model      format "pitwise/model", version 1, id, revision, most_faults 1..6,
//	           [sources], [cautions], [tools], setups, components, tests, [repairs]
//	sources    by id: kind "published", "practice" or "memory"; cite
//	caution    id
//	tool       id
//	setup      id, [inside a setup], [cautions], [enter step], [leave step]
//	step       minutes, money, [cautions], [fixes], [risks], [source]
//	component  id, [place], modes (1..8)
//	mode       id, prior, [source]
//	test       id, [intake], at a setup, minutes, money, [needs tools], [cautions],
//	           [reading], outcomes (1..12, best first), healthy row,
//	           [given: by mode a row], steadiness, [source]
//	reading    unit, [nominal], [percent], [absolute]
//	outcome    id, and under a reading [from], [to]
//	repair     id, at a setup, minutes, money, [needs tools], [cautions],
//	           [fixes], [risks], [source]
//	row        one probability for each outcome
//	fixes      by mode: a probability; so are risks
//
// What has an asterisk is of version 2: a file of version 1 that has any is not valid.
//
// # Rules
//
//   - Minutes and money are at least 0, as are a reading's percent and absolute.
//     A prior is above 0, the priors of one component add up to less than 1.
//   - Setups form a tree. Its root is the one setup without inside; it is neither
//     entered nor left.
//   - Exactly one test is the intake test, at most one, never a told one, the proof; a
//     model whose intake test is told must have a proof. Where there is none, the intake
//     test is it.
//   - Weights and steadiness are above 0.
//   - Each entry of a row is above 0, and a row sums to 1 within 1e-9.
//   - With Q the cumulative sums of a row, Q_given/Q_healthy is at most 1 up to every
//     outcome, and does not fall from one to the next, both within 1e-9: a fault never
//     makes good outcomes likelier. For a row that breaks this, the defect shows the
//     nearest row that would pass: the one whose ratios have the least sum of squared
//     differences from those of the row.
//   - Under a reading, the outcomes' intervals (from inclusive, to exclusive, unbounded
//     where absent) cover every number once. They need not stand in its order.
//   - Fixes and risks lie in 0..1. The risks of one change name at most one mode of a
//     component.
//   - At most 64 components, 64 setups, 256 tests and 256 repairs; and at most 2,000,000
//     hypotheses: ways to choose up to most_faults components and a mode of each.
//
// # Exactness and concurrency
//
// Numbers are the float64 nearest to the decimals in the file; sums are plain sums in
// file order. A Model keeps the file's bytes and their SHA-256, which trails refer to.
// It does not change once loaded, and any number of goroutines may use it.
package model
