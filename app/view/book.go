package view

import (
	"slices"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/report"
	"pitwise/app/state"
	"pitwise/app/words"
)

// sumsShown and talliesShown are how many lines of the book are drawn; the rest is in the table.
const (
	sumsShown    = 24
	talliesShown = 12
)

// book is what the whole bench came to, and what to order.
func (v *pen) book(s state.State) app.UI {
	own := slices.DeleteFunc(slices.Clone(s.Book), func(e state.Entry) bool { return e.ID == state.SampleID })
	busy := s.Book == nil || s.BookDone < s.BookAll
	orders := state.Orders(own)
	return app.Main().Class("main", "book").Body(
		app.If(busy, app.P().Class("quiet").Role("status").Text(v.say(words.BookBusy, s.BookDone, s.BookAll))),
		app.If(!busy && len(own) == 0, app.P().Text(v.say(words.BookEmpty))),
		when(len(orders) > 0, func() app.UI { return v.orders(s, orders) }),
		when(len(own) > 0, func() app.UI { return v.sums(s, own) }),
		v.tallies(words.BookFaults, words.BookFaultsHelp, state.Faults(own), v.found),
		v.tallies(words.BookRepairs, words.BookRepairsHelp, state.Repairs(own), v.held),
		when(len(own) > 0, func() app.UI {
			return app.Section().Class("block").Body(
				app.H2().Text(v.say(words.BookTable)),
				app.P().Class("quiet").Text(v.say(words.BookTableHelp)),
				v.takeBook(s, state.FormBook, v.say(words.BookTable)),
			)
		}),
	)
}

// takeBook are the ways to take a part of the book away.
func (v *pen) takeBook(s state.State, form state.Form, name string) app.UI {
	way := func(key words.Key, way state.Way) app.UI {
		return v.button("button-plain", v.say(key), state.TakeBook{Form: form, Way: way}).Aria("label", v.say(key)+": "+name)
	}
	return app.Div().Class("row").Body(
		app.If(s.CanShare, way(words.WayShare, state.WayShare)),
		way(words.WaySave, state.WaySave),
		way(words.WayCopy, state.WayCopy),
	)
}

// orders is what all waiting units wait for.
func (v *pen) orders(s state.State, orders []state.Order) app.UI {
	return app.Section().Class("block").Body(
		app.H2().Text(v.say(words.BookOrders)),
		app.Ul().Class("orders").Body(app.Range(orders).Slice(func(i int) app.UI {
			o := orders[i]
			price := v.say(words.BookNoPrice)
			if o.Price > 0 {
				price = v.words.Money(o.Price*float64(o.Count), o.Currency)
			}
			labels := make([]string, len(o.For))
			for k, label := range o.For {
				labels[k] = short(label, labelShown)
			}
			return app.Li().Body(
				app.B().Text(v.say(words.OrderLine, o.Count, short(report.PartOf(v.words, o), labelShown))),
				app.Span().Class("number").Text(price),
				app.Span().Class("quiet").Text(v.say(words.BookOrderFor, v.words.List(labels...))),
			)
		})),
		v.takeBook(s, state.FormOrders, v.say(words.BookOrders)),
	)
}

// addUps are what the book may add up by, as it is offered.
var addUps = []struct {
	by   state.BookBy
	name words.Key
}{{state.ByKind, words.BookByKind}, {state.ByMonth, words.BookByMonth}, {state.ByUnit, words.BookByUnit}}

// sums is what units came to: minutes by the clock beside the model's, money and worth, as lengths
// that compare within the list.
func (v *pen) sums(s state.State, own []state.Entry) app.UI {
	all := state.Totals(own, func(state.Entry) string { return "" })
	parts := s.BookBy.Sums(own)
	shown := parts[:min(len(parts), sumsShown)]
	names := map[string]string{}
	for _, e := range own {
		names[e.ID] = short(e.Label, labelShown)
	}
	title := func(t state.Total) string {
		switch s.BookBy {
		case state.ByUnit:
			return names[t.Key]
		case state.ByMonth:
			return v.words.Month(t.Key)
		}
		return short(t.Key, labelShown)
	}
	together := func(state.Total) string { return v.say(words.BookAll) }
	return app.Section().Class("block").Body(
		app.H2().Text(v.say(words.BookSums)),
		v.sumList(all, together, mostOf(all)),
		app.Div().Class("chips").Role("group").Aria("label", v.say(words.BookSums)).Body(app.Range(addUps).Slice(func(i int) app.UI {
			return v.chip(v.say(addUps[i].name), addUps[i].by == s.BookBy, state.AddUpBy{By: addUps[i].by})
		})),
		v.sumList(shown, title, mostOf(parts)),
		app.If(len(parts) > len(shown), app.P().Class("quiet").Text(v.say(words.BookMore, len(parts)-len(shown)))),
		app.P().Class("quiet").Text(v.say(words.BookHelp)),
	)
}

// sumList are totals, each under its title, and where two have the same, of its currency.
func (v *pen) sumList(all []state.Total, title func(state.Total) string, most mosts) app.UI {
	times := map[string]int{}
	for _, t := range all {
		times[title(t)]++
	}
	return app.Ul().Class("sums").Body(app.Range(all).Slice(func(i int) app.UI {
		name := title(all[i])
		if times[name] > 1 {
			name = v.say(words.EventResult, name, all[i].Currency)
		}
		return v.sum(name, all[i], most)
	}))
}

// mosts are the largest of what a list of totals compares: minutes of either kind, and amounts by
// currency.
type mosts struct {
	minutes float64
	amount  map[string]float64
}

func mostOf(all []state.Total) mosts {
	m := mosts{amount: map[string]float64{}}
	for _, t := range all {
		m.minutes = max(m.minutes, t.Minutes, t.Clock)
		m.amount[t.Currency] = max(m.amount[t.Currency], t.Money, t.Worth)
	}
	return m
}

// sum is one total: how its units stand, and what they came to.
func (v *pen) sum(name string, t state.Total, most mosts) app.UI {
	stand := []string{v.say(words.BookUnits, t.Units)}
	for _, x := range []struct {
		name string
		n    int
	}{
		{v.status(state.StatusSignedOff), t.SignedOff}, {v.status(state.StatusWrittenOff), t.WrittenOff},
		{v.status(state.StatusReturned), t.Returned}, {v.status(state.StatusOpen), t.Open}, {v.say(words.BookBack), t.Back},
	} {
		if x.n > 0 && t.Units > 1 {
			stand = append(stand, v.say(words.EventResult, x.name, v.words.Decimal(float64(x.n), 0)))
		} else if x.n > 0 {
			stand = append(stand, x.name)
		}
	}
	if t.Units == 1 {
		stand = stand[1:]
	}
	amount := most.amount[t.Currency]
	return app.Li().Class("sum").Body(
		app.H3().Text(name),
		app.P().Class("quiet", "facts").Body(app.Range(stand).Slice(func(i int) app.UI { return app.Span().Text(stand[i]) })),
		v.measure(words.BookClock, "bar-own", v.words.Minutes(t.Clock), t.Clock/most.minutes),
		v.measure(words.BookModel, "bar-faults", v.words.Minutes(t.Minutes), t.Minutes/most.minutes),
		v.measure(words.BookMoney, "bar-own", v.words.Money(t.Money, t.Currency), t.Money/amount),
		v.measure(words.BookWorth, "bar-faults", v.words.Money(t.Worth, t.Currency), t.Worth/amount),
	)
}

// measure is a number with its name, and as a length.
func (v *pen) measure(name words.Key, class, number string, share float64) app.UI {
	return app.Div().Class("measure").Body(
		app.Span().Text(v.say(name)),
		app.Span().Class("number").Text(number),
		bar(class, share),
	)
}

// tallies is how often things were, the most frequent first; nothing if nothing was.
func (v *pen) tallies(title, help words.Key, all []state.Tally, line func(state.Tally, int) app.UI) app.UI {
	if len(all) == 0 {
		return app.If(false)
	}
	shown := all[:min(len(all), talliesShown)]
	return app.Section().Class("block").Body(
		app.H2().Text(v.say(title)),
		app.P().Class("quiet").Text(v.say(help)),
		app.Ul().Class("suspects").Body(app.Range(shown).Slice(func(i int) app.UI { return line(shown[i], all[0].N) })),
		app.If(len(all) > len(shown), app.P().Class("quiet").Text(v.say(words.BookMore, len(all)-len(shown)))),
	)
}

// found is a fault: its length is how often it was found.
func (v *pen) found(t state.Tally, most int) app.UI {
	return app.Li().Class("suspect").Body(
		app.Span().Class("suspect-name").Text(short(t.Name, labelShown)),
		app.Span().Class("number").Text(v.say(words.BookUnits, t.N)),
		bar("bar-suspect", float64(t.N)/float64(most)),
	)
}

// held is a repair: the outer length is how often it was done, the inner one how often it held.
func (v *pen) held(t state.Tally, most int) app.UI {
	return app.Li().Class("suspect").Body(
		app.Span().Class("suspect-name").Text(short(t.Name, labelShown)),
		app.Span().Class("number").Text(v.say(words.BookHeld, t.Held, t.N)),
		barOf(float64(t.Held)/float64(most), float64(t.N)/float64(most)),
	)
}
