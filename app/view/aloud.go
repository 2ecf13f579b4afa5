package view

import (
	"strings"

	"github.com/maxence-charriere/go-app/v9/pkg/app"

	"pitwise/app/browser"
	"pitwise/app/state"
	"pitwise/app/words"
	"pitwise/engine/model"
	"pitwise/engine/plan"
)

// aloud begins and ends the reading of texts.
func (v *pen) aloud(speech state.Speech, texts []string) app.UI {
	b := app.Button().Type("button").Class("button", "fold", "fold-icon")
	if speech.On {
		return v.act(b.Aria("label", v.say(words.ReadAloudStop)), state.StopAloud{}).Body(icon("hush"))
	}
	m := state.ReadAloud{Texts: texts}
	h, s := v.tap(m)
	return b.Aria("label", v.say(words.ReadAloudGo)).Attr(browser.GuardedMark, "read aloud").OnClick(h, s).Body(icon("aloud"))
}

// tells is a step as it is read aloud: its cautions first, then what to do and how, then what may be seen.
func (v *pen) tells(u *state.Unit, p plan.Proposal, t task, cautions []model.Caution) []string {
	var all []string
	for _, c := range cautions {
		all = append(all, tellsCaution(c)...)
	}
	all = append(all, t.title, t.again)
	if len(t.needs) > 0 {
		all = append(all, v.say(words.AtHand)+" "+v.words.Tools(u.Model, t.needs))
	}
	all = append(append(all, t.steps...), t.text)
	if p.Step.Kind == plan.DoTest && t.then == "" {
		test := &u.Model.Tests[p.Step.Index]
		if test.Reading != nil {
			all = append(all, v.band(test))
		}
		all = append(all, v.say(words.WhatSeen))
		for i := range test.Outcomes {
			all = append(all, outcomeTitle(test, i))
		}
	}
	return said(all)
}

func tellsCaution(c model.Caution) []string {
	return said(append([]string{titled(c.Words, string(c.ID)), c.Text}, c.Steps...))
}

// said leaves out what says nothing.
func said(all []string) []string {
	var texts []string
	for _, text := range all {
		if strings.TrimSpace(text) != "" {
			texts = append(texts, text)
		}
	}
	return texts
}
