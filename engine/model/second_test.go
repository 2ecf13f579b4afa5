package model_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/internal/mutate"
	"pitwise/engine/internal/random"
	"pitwise/engine/internal/schema"
	"pitwise/engine/model"
)

// second reads formats.md a second time: the rules that a schema cannot say, over
// plain maps, in exact arithmetic, by trying out rather than by sorting. It shares no
// code with the loader. The error is the first breach that it comes across.
// source: formats.md, sections 1 and 2.
func second(doc map[string]any) error {
	list := func(v any) []map[string]any {
		var all []map[string]any
		for _, each := range v.([]any) {
			all = append(all, each.(map[string]any))
		}
		return all
	}
	part := func(name string) []map[string]any {
		if v, ok := doc[name]; ok {
			return list(v)
		}
		return nil
	}
	has := func(all []map[string]any, id any) bool {
		for _, each := range all {
			if each["id"] == id {
				return true
			}
		}
		return false
	}
	unique := func(what string, all []map[string]any) error {
		for i, each := range all {
			if has(all[:i], each["id"]) {
				return fmt.Errorf("%s: id %v twice", what, each["id"])
			}
		}
		return nil
	}
	setups, components, tests, repairs := part("setups"), part("components"), part("tests"), part("repairs")
	for what, all := range map[string][]map[string]any{"setups": setups, "components": components, "tests": tests, "repairs": repairs, "cautions": part("cautions"), "tools": part("tools")} {
		if err := unique(what, all); err != nil {
			return err
		}
	}
	owner := map[string]string{} // component by mode
	kept := []*big.Int{big.NewInt(1)}
	for _, c := range components {
		modes := list(c["modes"])
		if err := unique("modes", modes); err != nil {
			return err
		}
		sum := new(big.Rat)
		for _, mode := range modes {
			owner[c["id"].(string)+"."+mode["id"].(string)] = c["id"].(string)
			sum.Add(sum, new(big.Rat).SetFloat64(mode["prior"].(float64)))
		}
		if sum.Cmp(big.NewRat(1, 1)) >= 0 {
			return fmt.Errorf("priors of %v", c["id"])
		}
		next := make([]*big.Int, len(kept)+1)
		for i := range next {
			next[i] = new(big.Int)
		}
		for i, n := range kept {
			next[i].Add(next[i], n)
			next[i+1].Add(next[i+1], new(big.Int).Mul(n, big.NewInt(int64(len(modes)))))
		}
		kept = next
	}
	total := new(big.Int)
	for i := 0; i < len(kept) && i <= int(doc["most_faults"].(float64)); i++ {
		total.Add(total, kept[i])
	}
	if total.Cmp(big.NewInt(2_000_000)) > 0 {
		return fmt.Errorf("%v hypotheses", total)
	}
	// Every block: source, cautions, needs, at, fixes, risks.
	sources, _ := doc["sources"].(map[string]any)
	block := func(b map[string]any) error {
		if s, ok := b["source"]; ok && sources[s.(string)] == nil {
			return fmt.Errorf("source %v", s)
		}
		for field, all := range map[string][]map[string]any{"cautions": part("cautions"), "needs": part("tools")} {
			names, _ := b[field].([]any)
			for i, name := range names {
				if !has(all, name) {
					return fmt.Errorf("%s: %v", field, name)
				}
				for _, other := range names[:i] {
					if other == name {
						return fmt.Errorf("%s: %v twice", field, name)
					}
				}
			}
		}
		if at, ok := b["at"]; ok && !has(setups, at) {
			return fmt.Errorf("at %v", at)
		}
		risky := map[string]bool{}
		for _, field := range []string{"fixes", "risks"} {
			names, _ := b[field].(map[string]any)
			for name := range names {
				c, ok := owner[name]
				if !ok {
					return fmt.Errorf("%s: %v", field, name)
				}
				if field == "risks" && risky[c] {
					return fmt.Errorf("risks: %v twice", c)
				}
				risky[c] = risky[c] || field == "risks"
			}
		}
		return nil
	}
	var blocks []map[string]any
	blocks = append(append(append(blocks, setups...), tests...), repairs...)
	for _, c := range components {
		blocks = append(blocks, list(c["modes"])...)
	}
	root := ""
	for _, s := range setups {
		_, inside := s["inside"]
		for _, name := range []string{"enter", "leave"} {
			if step, ok := s[name]; ok {
				blocks = append(blocks, step.(map[string]any))
				if !inside {
					return fmt.Errorf("%s of a root", name)
				}
			}
		}
		if !inside {
			if root != "" {
				return fmt.Errorf("two roots")
			}
			root = s["id"].(string)
		}
	}
	for _, b := range blocks {
		if err := block(b); err != nil {
			return err
		}
	}
	for _, s := range setups {
		at := s
		for range len(setups) {
			if inside, ok := at["inside"]; ok {
				at = nil
				for _, other := range setups {
					if other["id"] == inside {
						at = other
					}
				}
				if at == nil {
					return fmt.Errorf("inside %v", inside)
				}
			}
		}
		if at["id"] != root || root == "" {
			return fmt.Errorf("no way from %v to the root", s["id"])
		}
	}
	if doc["version"].(float64) == 1 {
		if err := first(doc, tests, repairs); err != nil {
			return err
		}
	}
	intakes, proofs, told := 0, 0, false
	for _, t := range tests {
		if t["proof"] == true {
			proofs++
		}
		if t["intake"] == true && t["told"] == true {
			told = true
		}
		if t["intake"] == true {
			intakes++
		}
		if err := secondTest(t, list(t["outcomes"]), owner); err != nil {
			return fmt.Errorf("%v: %w", t["id"], err)
		}
		if err := unique("outcomes", list(t["outcomes"])); err != nil {
			return err
		}
	}
	if proofs > 1 || told && proofs == 0 {
		return fmt.Errorf("%d proofs", proofs)
	}
	for _, r := range repairs {
		after, _ := r["only_after"].(map[string]any)
		if after == nil {
			continue
		}
		for _, seen := range list(after["any"]) {
			var outcomes []map[string]any
			for _, t := range tests {
				if t["id"] == seen["test"] {
					outcomes = list(t["outcomes"])
				}
			}
			names := seen["outcomes"].([]any)
			for i, name := range names {
				if !has(outcomes, name) {
					return fmt.Errorf("only after %v of %v", name, seen["test"])
				}
				for _, other := range names[:i] {
					if other == name {
						return fmt.Errorf("only after %v twice", name)
					}
				}
			}
		}
	}
	if intakes != 1 {
		return fmt.Errorf("%d intake tests", intakes)
	}
	return nil
}

// first looks for what a file of version 1 may not have.
// source: formats.md, section 6.
func first(doc map[string]any, tests, repairs []map[string]any) error {
	if _, ok := doc["currency"]; ok {
		return fmt.Errorf("a currency in version 1")
	}
	sources, _ := doc["sources"].(map[string]any)
	for _, s := range sources {
		if _, ok := s.(map[string]any)["weight"]; ok {
			return fmt.Errorf("a weight in version 1")
		}
	}
	for name, all := range map[string][]map[string]any{"told": tests, "proof": tests, "steadiness": repairs, "only_after": repairs} {
		for _, each := range all {
			if _, ok := each[name]; ok {
				return fmt.Errorf("%s in version 1", name)
			}
		}
	}
	return nil
}

// allowed is the tolerance of 1e-9, for numbers that stand as decimals in the file: a
// row that says 1.000000001 is off by 1.00000008e-9 in 64 bits.
const allowed = 1e-9 + 1e-15

func secondTest(t map[string]any, outcomes []map[string]any, owner map[string]string) error {
	bounds := func(o map[string]any) (from, to float64) {
		from, to = math.Inf(-1), math.Inf(1)
		if x, ok := o["from"]; ok {
			from = x.(float64)
		}
		if x, ok := o["to"]; ok {
			to = x.(float64)
		}
		return from, to
	}
	points := []float64{0, -math.MaxFloat64, math.MaxFloat64}
	for _, o := range outcomes {
		from, to := bounds(o)
		for _, x := range []float64{from, to} {
			if math.IsInf(x, 0) {
				continue
			}
			if t["reading"] == nil {
				return fmt.Errorf("bounds without a reading")
			}
			points = append(points, x, math.Nextafter(x, math.Inf(-1)), math.Nextafter(x, math.Inf(1)))
		}
		if !(from < to) {
			return fmt.Errorf("an empty interval")
		}
	}
	for _, x := range points {
		in := 0
		for _, o := range outcomes {
			if from, to := bounds(o); from <= x && x < to {
				in++
			}
		}
		if t["reading"] != nil && in != 1 && !math.IsInf(x, 0) {
			return fmt.Errorf("%v is in %d intervals", x, in)
		}
	}
	cumulative := func(v any) ([]*big.Rat, error) {
		row := v.([]any)
		if len(row) != len(outcomes) {
			return nil, fmt.Errorf("a row of %d for %d outcomes", len(row), len(outcomes))
		}
		sum := new(big.Rat)
		var all []*big.Rat
		for _, p := range row {
			sum.Add(sum, new(big.Rat).SetFloat64(p.(float64)))
			all = append(all, new(big.Rat).Set(sum))
		}
		if off, _ := new(big.Rat).Sub(sum, big.NewRat(1, 1)).Float64(); math.Abs(off) > allowed {
			return nil, fmt.Errorf("a row that is off by %v", off)
		}
		return all, nil
	}
	healthy, err := cumulative(t["healthy"])
	if err != nil {
		return err
	}
	rows, _ := t["given"].(map[string]any)
	for name, row := range rows {
		if _, ok := owner[name]; !ok {
			return fmt.Errorf("given %v", name)
		}
		given, err := cumulative(row)
		if err != nil {
			return err
		}
		before := new(big.Rat)
		for k := range given {
			ratio := new(big.Rat).Quo(given[k], healthy[k])
			if k == len(given)-1 {
				ratio.SetInt64(1) // both rows sum to 1
			}
			above, _ := new(big.Rat).Sub(ratio, big.NewRat(1, 1)).Float64()
			fall, _ := new(big.Rat).Sub(before, ratio).Float64()
			if above > allowed || fall > allowed {
				return fmt.Errorf("%v: the ratio at %d is above by %v, falls by %v", name, k, above, fall)
			}
			before = ratio
		}
	}
	return nil
}

func TestASecondReadingOfTheRulesAgreesOnSpoiledModels(t *testing.T) {
	form, err := schema.Parse(model.Schema())
	require.NoError(t, err)
	valid, invalid, rules, models := 0, 0, 0, uint64(6000)
	if testing.Short() {
		models = 1500
	}
	for seed := range models {
		rng := rand.New(rand.NewPCG(seed, 14))
		text := random.Model(rng, random.Size{Components: 4, Modes: 3, Tests: 3, Outcomes: 4, Repairs: 3, Setups: 4, Extreme: seed%2 == 0, Second: seed >= models/2})
		text = mutate.Document(rng, text, 1+rng.IntN(2))
		want := form.Validate(text)
		if want == nil {
			var doc map[string]any
			require.NoError(t, json.Unmarshal(text, &doc))
			if want = second(doc); want != nil {
				rules++
			}
		}
		_, got := model.Load(text)
		require.Equal(t, want == nil, got == nil, "seed %d\nsecond reading: %v\nLoad: %v\n%s", seed, want, got, text)
		if want == nil {
			valid++
		} else {
			invalid++
		}
	}
	assert.Greater(t, valid, int(models)/12)
	assert.Greater(t, invalid, int(models)/3)
	assert.Greater(t, rules, int(models)/12, "breaches of what no schema can say")
}
