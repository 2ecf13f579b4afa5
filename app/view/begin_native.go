//go:build !js

package view

import "github.com/maxence-charriere/go-app/v9/pkg/app"

// begin does nothing outside a browser: there a test carries out the effects.
func (*desk) begin(app.Context) {}
