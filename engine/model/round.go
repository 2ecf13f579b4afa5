package model

import "strconv"

// round returns x to so many significant decimal digits.
func round(x float64, digits int) float64 {
	y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', digits-1, 64), 64)
	if err != nil {
		return x
	}
	return y
}
