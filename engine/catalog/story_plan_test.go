//go:build !wasm

// The planner answers the same on every target, which its own tests hold; asking it
// some two hundred times more under wasm would tell nothing new.

package catalog_test

import (
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitwise/engine/belief"
	"pitwise/engine/catalog"
	"pitwise/engine/internal/story"
	"pitwise/engine/model"
	"pitwise/engine/plan"
	"pitwise/engine/trail"
)

// planners by model and terms: what one grows is alike for every test.
var planners = map[string]plan.Planner{}

// plannerOf is the planner of a space at some terms; an answer depends on no other that it gave.
func plannerOf(t *testing.T, space *belief.Space, terms trail.Terms) plan.Planner {
	t.Helper()
	key := fmt.Sprintf("%s %+v", space.Model().SHA256, terms)
	if planners[key] == nil {
		planner, err := plan.New(space, terms)
		require.NoError(t, err)
		planners[key] = planner
	}
	return planners[key]
}

// fitted returns a shipped model, its hypotheses and the stories' terms with every tool at hand.
func fitted(t *testing.T, id string) (*model.Model, *belief.Space, trail.Terms) {
	t.Helper()
	space := spaceOf(t, id)
	m := space.Model()
	terms := (&story.Story{}).Trail(m, 0).Terms
	for _, tool := range m.Tools {
		terms.Tools = append(terms.Tools, tool.ID)
	}
	return m, space, terms
}

// onPage is fitted at the page's terms, with the planner of a bench that has these tools, or all.
func onPage(t *testing.T, id string, tools ...model.ToolID) (*model.Model, *belief.Space, plan.Planner) {
	t.Helper()
	m, space, terms := fitted(t, id)
	terms.ComebackCost = 25
	if tools != nil {
		terms.Tools = append(tools, "their-disc") // which the page asks the owner for
	}
	return m, space, plannerOf(t, space, terms)
}

// proposal returns what is proposed first after an account.
func proposal(t *testing.T, planner plan.Planner, account *trail.Account) plan.Proposal {
	t.Helper()
	return proposals(t, planner, account)[0]
}

// proposals returns all that is on offer after an account.
func proposals(t *testing.T, planner plan.Planner, account *trail.Account) []plan.Proposal {
	t.Helper()
	return proposalsOf(t, planner, plan.Situation{Belief: account.Final, Setup: account.Setup, Tries: account.Tries, Seen: account.Seen})
}

func proposalsOf(t *testing.T, planner plan.Planner, at plan.Situation) []plan.Proposal {
	t.Helper()
	search := planner.Start(at)
	for !search.Work(1000) {
	}
	all := search.Proposals()
	require.NotEmpty(t, all)
	return all
}

// first returns the id of the step that is proposed first, or sign-off or write-off.
func first(t *testing.T, m *model.Model, planner plan.Planner, account *trail.Account) string {
	t.Helper()
	return stepID(m, proposal(t, planner, account).Step)
}

func stepID(m *model.Model, s plan.Step) string {
	switch s.Kind {
	case plan.DoTest:
		return string(m.Tests[s.Index].ID)
	case plan.DoRepair:
		return string(m.Repairs[s.Index].ID)
	}
	return string(s.Kind)
}

func TestNothingSillyIsProposedInAStory(t *testing.T) {
	for _, e := range catalog.Models() {
		t.Run(e.ID, func(t *testing.T) {
			m, space, terms := fitted(t, e.ID)
			planner := plannerOf(t, space, terms)
			asked, told := 0, 0
			for _, s := range readStories(t, e.ID) {
				for _, c := range s.Claims {
					if c.Kind != "never" {
						continue
					}
					if told++; told%2 > 0 && os.Getenv("PITWISE_STORIES") != "all" {
						continue
					}
					account, err := trail.Replay(space, s.Trail(m, c.After))
					require.NoError(t, err, c.Where)
					step := first(t, m, planner, account)
					assert.NotContains(t, c.Words, step, "%s: %s: never %s\n%s", s.Title, c.Where, strings.Join(c.Words, " "), suspects(m, account.Lines[len(account.Lines)-1].Odds))
					asked++
				}
			}
			t.Logf("asked %d times", asked)
			assert.GreaterOrEqual(t, asked, 20)
		})
	}
}

// Whoever has mended something tries it before he closes the unit: the way home and back in is longer than the
// try. Common practice, no source.
func TestARepairIsTriedBeforeTheWayHome(t *testing.T) {
	for _, row := range []struct{ id, did string }{
		{"tray", "complaint=refuses onset=opened heard=normal inside=nobody their-disc=none discs=any kinds=alike tray-help=helped tray-hand=easy replace-belt"},
		{"top-loader", "complaint=still onset=overnight heard=normal inside=nobody their-disc=none discs=any listen=silent hold-switch=reacts lens-search=both press-lid=same known-disc=still sled-home=home spindle-cell=dead replace-spindle"},
		{"top-loader", "complaint=gives-up onset=slowly heard=normal inside=repaired their-disc=none discs=home-made listen=seeks knock=stumbles clean-lens first-boot=slow knock=steady laser-current=right sled-hand=drags rf-scope=mesh sled-play=firm grease-sled"},
		{"top-loader", "complaint=some onset=slowly heard=normal inside=nobody their-disc=here discs=any first-boot=asks known-disc=odd listen=labours clamp-pull=firm spindle-hand=free spin-look=sags rim-look=true motor-load=low plug-look=bright replace-supply"},
		{"tray", "complaint=gives-up onset=slowly heard=seeks inside=nobody their-disc=here discs=any kinds=cd known-disc=still listen=seeks knock=steady laser-current=raised sled-home=home replace-pickup"},
	} {
		m, space, terms := fitted(t, row.id)
		planner := plannerOf(t, space, terms)
		account := replayed(t, m, space, row.did)
		assert.Equal(t, "bench-start", first(t, m, planner, account), row.id)
	}
}

// What the way out may have broken is asked about first, however it shows: a lid that misses its switch acts as if it were up, or the disc
// never spins; pressing it takes a minute, and opening the unit again a quarter of an hour. Common practice, no source.
func TestRightAfterAClosingTheLidIsPressed(t *testing.T) {
	m, space, planner := onPage(t, "top-loader")
	closed := "complaint=gives-up onset=slowly known-disc=asks lens-look=clear sled-hand=drags grease-sled bench-start=boots "
	for _, row := range []struct{ shows, next string }{
		{"known-disc=still", "press-lid"},
		{"known-disc=refuses", "press-lid"},
		{"known-disc=still listen=silent", "press-lid"},
		{"known-disc=still press-lid=cured", "set-switch"},
		{"known-disc=refuses press-lid=cured", "set-switch"},
	} {
		assert.Equal(t, row.next, first(t, m, planner, replayed(t, m, space, closed+row.shows)), row.shows)
	}
}

// A repair that was done twice is not done again before it was looked at whether it helped. Common practice, no source.
func TestNoRepairIsDoneAThirdTimeUnseen(t *testing.T) {
	m, space, planner := onPage(t, "top-loader")
	did := "complaint=still known-disc=still sled-home=grinds home-ohms=open clean-home clean-home"
	offered := func(did string) (steps []string) {
		for _, p := range proposals(t, planner, replayed(t, m, space, did)) {
			steps = append(steps, stepID(m, p.Step))
		}
		return steps
	}
	assert.NotContains(t, offered(did), "clean-home")
	assert.Contains(t, offered(did+" home-ohms=open"), "clean-home", "seen to have failed, it may be tried again")

	// Nor is a look repeated for ever that only puts off the third try.
	did = "complaint=still onset=overnight heard=ticks inside=cleaned their-disc=here discs=any listen=ticks lens-search=dark sled-home=home replace-pickup pads-look=open bench-start=slow " +
		"sled-hand=glides laser-current=right plug-look=bright wiggle=steady mat-look=firm press-lid=same clamp-pull=firm spindle-hand=free first-boot=boots known-disc=odd spin-look=speed " +
		"rim-look=rubs renew-clamp first-boot=odd spin-look=speed set-hub bench-start=slow spindle-hand=free first-boot=slow clamp-pull=firm knock=steady rim-look=wobbles set-hub"
	for _, more := range []string{"", " spindle-case=right spindle-case=right"} {
		assert.Contains(t, []string{"bench-start", "spindle-winding", "spindle-cell"}, first(t, m, planner, replayed(t, m, space, did+more)), more)
	}

	// Nor is it done in place of a look that tells no more: the sled is dry, on odds of 0.97, and is greased again.
	did = "complaint=still onset=shelf heard=normal inside=nobody their-disc=here discs=one known-disc=still lid-look=good disc-look=marked listen=silent " +
		"first-boot=still hold-switch=nothing sled-home=stays disc-label=fits spin-look=still polish-disc fuse-ohms=open sled-hand=drags replace-fuse " +
		"grease-sled bench-start=slow sled-play=firm plug-look=dull plug-drop=right listen=normal mat-look=firm known-disc=slow lens-look=filmed clean-lens " +
		"first-boot=asks lens-look=filmed clean-lens sled-home=home lens-look=filmed clean-lens lens-look=clear first-boot=boots known-disc=still " +
		"music-data=data laser-current=right bench-start=boots rf-scope=mesh sled-hand=glides wiggle=steady first-boot=slow known-disc=boots listen=seeks " +
		"spin-look=speed music-data=neither knock=steady all-ways-up=same disc-elsewhere=reads clean-lens lens-look=clear first-boot=asks rf-scope=mesh " +
		"bench-start=gives-up all-ways-up=same first-boot=asks listen=labours spin-look=speed sled-home=jerks wipe-disc wipe-disc"
	assert.NotContains(t, offered(did), "wipe-disc")
	assert.Equal(t, "grease-sled", first(t, m, planner, replayed(t, m, space, did)))
}

// A unit that could be worth mending or not is not started again and again for want of better: with few tools at hand, too, one opens
// it. Common practice, no source.
func TestAModestBenchLooksBeforeItGivesUp(t *testing.T) {
	m, space, planner := onPage(t, "slot-in", "good-disc", "screwdriver", "multimeter", "loupe", "alcohol")
	told := "complaint=gives-up onset=overnight heard=seeks inside=nobody their-disc=here known-disc=asks listen=seeks first-boot=asks"
	opens := []string{"lens-look", "clean-lens", "sled-hand", "sled-home", "laser-current", "knock"}
	assert.Contains(t, append(opens, "disc-look", "no-disc"), first(t, m, planner, replayed(t, m, space, told)), "a glance at the disc before it, if not seen yet")
	assert.Contains(t, opens, first(t, m, planner, replayed(t, m, space, told+" disc-label=fits disc-look=fine knock=steady")))
}

// Of a disc that did not come with the unit nothing is asked, and of one of which nothing is known yet it may be. Common sense.
func TestADiscThatIsNotThereIsNotAskedFor(t *testing.T) {
	for _, family := range catalog.Models() {
		id := family.ID
		m, space, planner := onPage(t, id)
		for _, row := range []struct {
			told    string
			offered bool
		}{
			{"complaint=gives-up", true},
			{"complaint=gives-up their-disc=here", true},
			{"complaint=gives-up their-disc=none", false},
			{"complaint=gives-up their-disc=none their-disc=here", true},
		} {
			var offered []string
			for _, p := range proposals(t, planner, replayed(t, m, space, row.told)) {
				offered = append(offered, stepID(m, p.Step))
			}
			for _, test := range []string{"first-boot", "disc-label", "disc-look", "disc-elsewhere"} {
				assert.Equal(t, row.offered, slices.Contains(offered, test), "%s, %s: %s", id, row.told, test)
			}
			assert.Contains(t, offered, "known-disc")
		}
	}
}

// Whoever mended a unit that failed when warm lets it get warm again before it leaves, and a unit whose owner says that it fails after
// minutes is not signed off on cold starts. Common practice, no source.
func TestWhatFailedWarmIsLetGetWarmBeforeItLeaves(t *testing.T) {
	m, space, planner := onPage(t, "tray", "good-disc", "screwdriver", "multimeter", "alcohol", "iron")
	warm := []string{"cold-warm", "long-play"}
	seen := "complaint=fades onset=slowly first-boot=boots known-disc=boots knock=steady cold-warm=worse"
	mended := seen + " driver-touch=hot wiggle=steady replace-driver bench-start=boots"
	assert.Contains(t, warm, first(t, m, planner, replayed(t, m, space, mended+" first-boot=boots known-disc=boots")))
	assert.Equal(t, "sign-off", first(t, m, planner, replayed(t, m, space, mended+" first-boot=boots cold-warm=same")))
	assert.Contains(t, warm, first(t, m, planner, replayed(t, m, space, "complaint=fades first-boot=boots known-disc=boots listen=normal knock=steady disc-label=fits")))
}

// What was seen is not looked at again for want of better: where a disc was started twice and asked for, the drive is opened, and where
// nothing answered a knock nobody knocks once more. Common practice, no source.
func TestNothingIsRunAgainForWantOfBetter(t *testing.T) {
	m, space, planner := onPage(t, "slot-in", "good-disc", "screwdriver", "multimeter", "alcohol", "iron", "scope", "second-unit")
	for _, seen := range []string{
		"first-boot=asks knock=steady disc-look=fine cd-dvd=neither listen=seeks known-disc=asks disc-label=fits",
		"complaint=now-and-then onset=shelf first-boot=odd knock=steady",
		"complaint=now-and-then onset=slowly first-boot=still cd-dvd=neither listen=silent feed-push=alone known-disc=still knock=nothing feed-watch=returns eject-press=runs",
	} {
		assert.NotContains(t, seen+" ", " "+first(t, m, planner, replayed(t, m, space, seen))+"=", seen)
	}
}

// A drive that somebody opened and that stays still is listened to, watched or started before its disc is carried to another unit.
// Common practice, no source.
func TestATestOnTheOffChanceWaits(t *testing.T) {
	m, space, planner := onPage(t, "slot-in", "good-disc", "screwdriver", "multimeter", "alcohol", "iron", "scope", "second-unit")
	assert.NotContains(t, []string{"disc-elsewhere", "disc-look", "disc-label"}, first(t, m, planner, replayed(t, m, space, "complaint=still onset=opened inside=repaired")))
}

// Where only home-made discs fail, pressed ones that start prove nothing: one of the kind that fails is tried, and a unit that fails it
// is not signed off. Common practice, no source.
func TestWhatFailsWithCopiesIsProvedWithACopy(t *testing.T) {
	for _, family := range []string{"tray", "slot-in"} {
		m, space, planner := onPage(t, family)
		told := "complaint=some onset=slowly their-disc=here discs=home-made first-boot=boots"
		for _, more := range []string{"", " disc-look=fine", " known-disc=boots disc-look=fine disc-label=fits listen=normal"} {
			assert.NotEqual(t, "sign-off", first(t, m, planner, replayed(t, m, space, told+more)), family+more)
		}
		account := replayed(t, m, space, told+" known-disc=boots pressed-recorded=pressed")
		assert.Less(t, account.Lines[len(account.Lines)-1].Odds.Sound, 0.15, family)
	}
}

// Before a pick-up is bought for a laser that gives no light, the pads are looked at that a seller forgot: two minutes with the drive out.
// Before a unit that fell is given back, it is knocked at. Common practice, no source.
func TestALookComesBeforeAPartAndAKnockAfterAFall(t *testing.T) {
	m, space, planner := onPage(t, "top-loader")
	assert.Equal(t, "pads-look", first(t, m, planner, replayed(t, m, space, "complaint=still onset=slowly inside=nobody listen=ticks known-disc=still first-boot=still "+
		"sled-home=home lens-search=dark spindle-cell=runs")))
	assert.Equal(t, "knock", first(t, m, planner, replayed(t, m, space, "complaint=refuses onset=moved inside=nobody lid-look=broken pad-peg first-boot=boots known-disc=boots listen=normal")))
}

// A fault that the owner says comes and goes is looked for further when two starts and a knock show nothing. Common practice, no source.
func TestWhatComesAndGoesIsNotSignedOffOnTwoStarts(t *testing.T) {
	for _, family := range catalog.Models() {
		m, space, planner := onPage(t, family.ID)
		did := "complaint=now-and-then first-boot=boots known-disc=boots knock=steady listen=normal"
		assert.NotEqual(t, "sign-off", first(t, m, planner, replayed(t, m, space, did)), family.ID)
	}
}

// A disc with which the unit starts is not wiped unseen. Common practice, no source.
func TestADiscThatStartsIsNotWipedUnseen(t *testing.T) {
	for _, family := range catalog.Models() {
		m, space, planner := onPage(t, family.ID)
		for _, did := range []string{"", "onset=slowly inside=nobody first-boot=asks disc-label=fits listen=seeks clean-lens "} {
			assert.NotEqual(t, "wipe-disc", first(t, m, planner, replayed(t, m, space, "complaint=gives-up "+did+"first-boot=boots known-disc=boots")), family.ID)
		}
	}
}

// What was done to the supply of a slot-in, whose drive is back in by then, is tried before the cover goes on. Common practice, no source.
func TestASupplyIsTriedBeforeTheCoverGoesOn(t *testing.T) {
	m, space, planner := onPage(t, "slot-in", "good-disc", "screwdriver", "multimeter", "alcohol", "iron")
	did := "complaint=still onset=shelf listen=silent first-boot=still eject-press=runs known-disc=still logic-volts=low fuse-ohms=right replace-supply"
	assert.Contains(t, []string{"plug-look", "flex-look", "open-start"}, first(t, m, planner, replayed(t, m, space, did)), "a glance at the plug or the cable beside it")
	assert.Equal(t, "open-start", first(t, m, planner, replayed(t, m, space, did+" plug-look=bright")))
}

// A driver is felt, cooled or measured before it is unsoldered: that the supply is right speaks of no driver. Common practice, no source.
func TestADriverIsFeltBeforeItIsReplaced(t *testing.T) {
	m, space, planner := onPage(t, "tray", "good-disc", "screwdriver", "multimeter", "alcohol", "iron")
	did := "complaint=fades onset=slowly first-boot=boots known-disc=boots knock=steady cold-warm=worse logic-volts=right wiggle=steady"
	assert.Contains(t, []string{"driver-touch", "laser-current"}, first(t, m, planner, replayed(t, m, space, did)))
	assert.Equal(t, "driver-touch", first(t, m, planner, replayed(t, m, space, did+" laser-current=right")))
	assert.Contains(t, []string{"replace-driver", "bench-start", "laser-current"}, first(t, m, planner, replayed(t, m, space, did+" driver-touch=hot")), "whether it still starts, or whether it is the laser after all")
	assert.Equal(t, "replace-driver", first(t, m, planner, replayed(t, m, space, did+" driver-touch=hot laser-current=right bench-start=boots")), "a good driver is hot at times: the laser too was measured")
}

// replayed works out what was done on a unit: results as test=outcome or test=number, and repairs, each where it is done.
func replayed(t *testing.T, m *model.Model, space *belief.Space, all string) *trail.Account {
	t.Helper()
	s := &story.Story{Title: all}
	at := m.Root
	add := func(e trail.Event) {
		e.N, e.At = len(s.Events)+1, "2026-01-01T10:00:00Z"
		s.Events = append(s.Events, e)
	}
	for _, did := range strings.Fields(all) {
		e := trail.Event{Kind: trail.Repair, Repair: model.RepairID(did)}
		to := at
		if test, outcome, saw := strings.Cut(did, "="); saw {
			e = trail.Event{Kind: trail.Result, Test: model.TestID(test), Outcome: model.OutcomeID(outcome)}
			if reading, err := strconv.ParseFloat(outcome, 64); err == nil {
				e.Outcome, e.Reading = "", &reading
			}
			if x, _ := m.Test(e.Test); !x.Told {
				to = x.At
			}
		} else if x, ok := m.Repair(e.Repair); ok {
			to = x.At
		}
		if to != at {
			at = to
			add(trail.Event{Kind: trail.Setup, Setup: m.Setups[at].ID})
		}
		add(e)
	}
	account, err := trail.Replay(space, s.Trail(m, len(s.Events)))
	require.NoError(t, err)
	return account
}

// A unit is started before it is opened, and a cam that was felt standing still is set before what stands still behind it is measured. What an
// opened unit that stays dead may have on its board is looked at before it is given up; a card that was seen comes out before anything
// else is fed in; a tray that does not shut is helped by hand before anybody reads a label; and what was mended of a unit that fails warm is
// proved warm, with the drive just back in too. A unit that failed here and that nobody touched is not signed off because all else went well. Common practice, no source.
func TestAnEveningIsLedAsAtABench(t *testing.T) {
	few := []model.ToolID{"good-disc", "home-disc", "screwdriver", "multimeter", "alcohol", "iron", "loupe", "cell", "grease", "slow-motion"}
	for _, row := range []struct {
		family, told, did string
		first             []string
	}{
		{"tray", "their-disc=none", "tray-help=alone known-disc=still listen=silent tray-watch=smooth transit-look=free sled-home=stays logic-volts=right lens-search=neither reseat-flex bench-start=still " +
			"sled-home=stays laser-current=none fuse-ohms=right flex-look=good pads-look=open short-ohms=right home-ohms=right reseat-flex bench-start=still sled-home=stays", []string{"board-look", "joint-look", "board-esr", "wiggle", "lens-search"}},
		{"slot-in", "complaint=refuses onset=overnight", "feed-push=stop slot-look=thing", []string{"remove-thing"}},
		{"tray", "complaint=gives-up onset=opened heard=seeks inside=repaired", "", []string{"first-boot", "known-disc"}},
		{"tray", "complaint=still onset=shelf heard=silent their-disc=none", "tray-help=helped known-disc=still lens-search=neither logic-volts=right belt-look=tight tray-hand=heavy grease-tray bench-start=refuses tray-press=same tray-help=blocked listen=grinds",
			[]string{"set-lift", "transit-look"}},
		{"tray", "complaint=refuses onset=shelf their-disc=here", "", []string{"tray-help", "tray-watch", "tray-press", "listen"}}, // it is heard while it tries
		{"slot-in", "complaint=fades onset=slowly heard=normal inside=nobody their-disc=none", "cold-warm=worse listen=normal knock=steady cool-driver=driver replace-driver bench-start=boots open-start=boots known-disc=boots",
			[]string{"cold-warm", "long-play"}},
		{"slot-in", "complaint=now-and-then onset=slowly inside=nobody", "known-disc=boots first-boot=boots knock=steady five-starts=some feed-watch=smooth listen=normal all-ways-up=same cold-warm=same pressed-recorded=both where-fails=whole " +
			"cd-dvd=both knock=steady no-disc=says disc-look=fine long-play=through knock=steady eject-press=runs" + strings.Repeat(" known-disc=boots first-boot=boots feed-watch=smooth knock=steady", 3), []string{"five-starts"}},
	} {
		tools := few
		if strings.Contains(row.did, "cool-driver") {
			tools = append(slices.Clone(few), "cold-spray")
		}
		m, space, planner := onPage(t, row.family, tools...)
		assert.Contains(t, row.first, first(t, m, planner, replayed(t, m, space, row.told+" "+row.did)), row.did)
	}
}

// Nobody buys a pick-up before the lens is wiped that lies open, on a current just over its line, or before he has tried what that did. Common practice, no source.
func TestALensIsWipedAndTriedBeforeAPickUpIsBought(t *testing.T) {
	m, space, planner := onPage(t, "slot-in")
	did := "complaint=refuses onset=slowly inside=nobody their-disc=none feed-push=helped feed-watch=slips clean-rollers rollers-look=dull lens-look=clear open-start=slow spin-look=speed laser-current=117 rf-scope=fuzzy rim-look=true sled-hand=glides"
	assert.Equal(t, "clean-lens", first(t, m, planner, replayed(t, m, space, did)))
	assert.Equal(t, "bench-start", first(t, m, planner, replayed(t, m, space, did+" clean-lens")))
}

// A unit whose owner says that it comes and goes, and that nobody here has seen fail, plays on before it is handed back. Common practice, no source.
func TestWhatWasNeverSeenToFailIsLetPlayOn(t *testing.T) {
	m, space, planner := onPage(t, "slot-in", "good-disc", "screwdriver", "multimeter", "alcohol", "iron")
	did := "complaint=now-and-then onset=slowly heard=normal inside=nobody their-disc=here discs=any kinds=alike known-disc=boots knock=steady five-starts=five first-boot=boots disc-look=fine cold-warm=same"
	assert.Equal(t, "long-play", first(t, m, planner, replayed(t, m, space, did)))
	assert.NotEqual(t, "sign-off", first(t, m, planner, replayed(t, m, space, did+" long-play=stops")))

	// What stops after minutes may stop where the disc ends.
	m, space, planner = onPage(t, "top-loader", "their-disc", "good-disc", "screwdriver", "multimeter", "loupe", "alcohol", "grease")
	did = "complaint=fades onset=slowly heard=normal inside=nobody their-disc=here discs=any first-boot=boots cold-warm=same listen=normal known-disc=boots knock=steady five-starts=five long-play=through disc-look=fine"
	assert.Equal(t, "where-fails", first(t, m, planner, replayed(t, m, space, did)))
	assert.NotEqual(t, "sign-off", first(t, m, planner, replayed(t, m, space, did+" where-fails=end")))

	// It went out so, came back, and starts.
	account := replayed(t, m, space, did+" where-fails=whole known-disc=boots")
	back := plan.Situation{Belief: account.Final, Setup: account.Setup, Tries: account.Tries, Seen: account.Seen, Back: make([]int, len(m.Tests))}
	for i := range back.Back {
		back.Back[i] = -1
		if m.Tests[i].ID == "known-disc" {
			back.Back[i] = 0
		}
	}
	assert.Equal(t, "sign-off", first(t, m, planner, account), "a unit that was not out")
	assert.Equal(t, "long-play", stepID(m, proposalsOf(t, planner, back)[0].Step))
}

// What comes next whatever a test shows goes before it, as nobody knocks on a unit before he wipes the lens all the same; what failed here is tried after a
// repair, and not a disc that nobody knows; and what was watched closed is not watched again with the cover off. Common practice, no source.
func TestNothingIsDoneForForm(t *testing.T) {
	m, space, planner := onPage(t, "top-loader")
	did := "complaint=gives-up onset=slowly known-disc=asks listen=seeks"
	assert.Equal(t, "clean-lens", first(t, m, planner, replayed(t, m, space, did+" inside=nobody")))
	assert.Equal(t, "known-disc", first(t, m, planner, replayed(t, m, space, did+" clean-lens")))

	did += " knock=steady clean-lens first-boot=asks listen=seeks disc-look=fine sled-home=home known-disc=asks laser-current=100"
	offered := proposals(t, planner, replayed(t, m, space, did))
	again := slices.IndexFunc(offered, func(p plan.Proposal) bool {
		return p.Step.Kind == plan.DoTest && m.Tests[p.Step.Index].ID == "open-sled"
	})
	require.Positive(t, again, "on offer, and not first")
	assert.Less(t, offered[again].Total, offered[0].Total, "though it is the cheapest")
}

// What somebody else says works is started once before it is sold on; what plays one disc is not worked on before the other was looked at; and their disc can wait
// while the bench's own does not play. Common practice, no source.
func TestAWordIsNoStartAndAnUnknownDiscNoProof(t *testing.T) {
	for _, family := range []string{"top-loader", "tray", "slot-in"} {
		m, space, planner := onPage(t, family)
		assert.Equal(t, "known-disc", first(t, m, planner, replayed(t, m, space, "complaint=works inside=nobody their-disc=none")), family)
	}
	m, space, planner := onPage(t, "top-loader")
	assert.Equal(t, "disc-label", first(t, m, planner, replayed(t, m, space, "complaint=gives-up onset=overnight heard=seeks inside=nobody their-disc=here disc-look=fine known-disc=boots")))
	assert.Contains(t, []string{"known-disc", "disc-look"}, first(t, m, planner, replayed(t, m, space, "first-boot=asks")), "a glance at the disc that failed at most")

	did := "complaint=now-and-then onset=opened heard=seeks inside=cleaned their-disc=here discs=any lens-look=clear first-boot=boots known-disc=asks knock=changes"
	account := replayed(t, m, space, did)
	offered := proposals(t, planner, account)
	require.Equal(t, plan.DoTest, offered[0].Step.Kind)
	assert.False(t, m.Theirs(&m.Tests[offered[0].Step.Index]), m.Tests[offered[0].Step.Index].ID)
}

// Who is sure renews what leaks before he goes on looking, though it takes an hour. Common practice, no source.
func TestWhatIsCertainIsMendedThoughItIsDear(t *testing.T) {
	m, space, planner := onPage(t, "top-loader")
	did := "complaint=still known-disc=still listen=ticks lens-search=neither reseat-flex bench-start=still open-sled=stays logic-volts=4.96 board-look=wet out-lens=clear trimmer-look=sealed board-esr=22"
	assert.Equal(t, "renew-board-caps", first(t, m, planner, replayed(t, m, space, did)))
}

// What was done and seen twice in vain is not done a third time, what was seen to be wrong is put right first, and what failed here is not handed back: common practice, no source.
func TestWhatNobodyDoesAtABench(t *testing.T) {
	m, space, planner := onPage(t, "tray")
	proposed := func(did string) string { return first(t, m, planner, replayed(t, m, space, did)) }

	// A sensor that is dusty again after it was cleaned twice is blind.
	eye := "complaint=still onset=slowly heard=silent inside=nobody their-disc=none discs=home-made kinds=alike tray-help=alone no-disc=says known-disc=still clean-eye bench-start=still lens-search=both lens-look=clear " +
		"spindle-winding=right flex-look=good logic-volts=right spin-look=still wiggle=steady eye-look=dusty clean-eye bench-start=still eye-look=dusty"
	assert.Equal(t, "replace-eye", proposed(eye))

	// A cable that was seen to hang out is put in, unplugged, before the unit is switched on again, and the unit started before anything else.
	m, space, planner = onPage(t, "top-loader", "good-disc", "screwdriver", "multimeter", "alcohol")
	cable := "complaint=gives-up onset=slowly heard=seeks inside=nobody their-disc=none known-disc=asks clean-lens known-disc=asks sled-home=home listen=seeks lens-look=clear clamp-pull=firm flex-look=loose"
	assert.Equal(t, "reseat-flex", proposed(cable))
	assert.Equal(t, "bench-start", proposed(cable+" reseat-flex"))
	assert.Equal(t, "pad-peg", proposed("complaint=still onset=slowly heard=silent inside=nobody press-lid=cured"), "what starts when its lid is pressed")

	m, space, planner = onPage(t, "tray")

	// Three rows of starts of which some failed, and then a good one.
	rows := "complaint=some onset=slowly heard=normal inside=nobody their-disc=none discs=any kinds=alike known-disc=boots five-starts=some listen=normal pressed-recorded=both knock=steady where-fails=whole five-starts=some cd-dvd=both five-starts=some five-starts=five"
	assert.NotEqual(t, "sign-off", proposed(rows))
	assert.NotEqual(t, "sign-off", proposed(rows+" cold-warm=same"))

	// Their disc failed here twice, and plays elsewhere.
	assert.Equal(t, "first-boot", proposed("complaint=some onset=slowly heard=normal inside=nobody their-disc=here discs=any kinds=alike known-disc=boots first-boot=asks disc-label=fits disc-look=fine listen=normal first-boot=asks five-starts=five disc-elsewhere=reads"))
}
