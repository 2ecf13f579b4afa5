package model

// RequireSound is for the tests outside the package.
var RequireSound = requireSound
