// Package plan answers "what next?": it solves, nearly, the decision problem of one unit.
package plan
