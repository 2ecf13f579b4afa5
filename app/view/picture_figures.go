package view

import (
	"math"
	"strings"
)

// Paths of plain shapes, by their middle or their upper left corner.

func circle(x, y, r float64) string {
	return "M" + num(x-r) + " " + num(y) + "a" + num(r) + " " + num(r) + " 0 1 0 " + num(2*r) + " 0a" + num(r) + " " + num(r) + " 0 1 0 " + num(-2*r) + " 0Z"
}

func box(x, y, w, h, round float64) string {
	corner := "a" + num(round) + " " + num(round) + " 0 0 1 "
	return "M" + num(x+round) + " " + num(y) + "h" + num(w-2*round) + corner + num(round) + " " + num(round) +
		"v" + num(h-2*round) + corner + num(-round) + " " + num(round) + "h" + num(2*round-w) + corner + num(-round) + " " + num(-round) +
		"v" + num(2*round-h) + corner + num(round) + " " + num(-round) + "Z"
}

// line joins points, given as x and y in turn.
func line(at ...float64) string {
	var b strings.Builder
	op := "M"
	for i := 0; i+1 < len(at); i += 2 {
		b.WriteString(op + num(at[i]) + " " + num(at[i+1]))
		op = "L"
	}
	return b.String()
}

// round gives a point on a circle; the angle is in degrees, clockwise from the right.
func round(x, y, r, angle float64) (float64, float64) {
	sin, cos := math.Sincos(angle * math.Pi / 180)
	return x + r*cos, y + r*sin
}

// arc goes clockwise from one angle to another.
func arc(x, y, r, from, to float64) string {
	x1, y1 := round(x, y, r, from)
	x2, y2 := round(x, y, r, to)
	large := "0"
	if to-from > 180 {
		large = "1"
	}
	return "M" + num(x1) + " " + num(y1) + "A" + num(r) + " " + num(r) + " 0 " + large + " 1 " + num(x2) + " " + num(y2)
}

// sector is what lies between two circles, clockwise from one angle to another.
func sector(x, y, outer, inner, from, to float64) string {
	x1, y1 := round(x, y, inner, from)
	x2, y2 := round(x, y, inner, to)
	large := "0"
	if to-from > 180 {
		large = "1"
	}
	return arc(x, y, outer, from, to) + "L" + num(x2) + " " + num(y2) + "A" + num(inner) + " " + num(inner) + " 0 " + large + " 0 " + num(x1) + " " + num(y1) + "Z"
}

// ring is a circle with a hole.
func ring(x, y, outer, inner float64) string {
	r := num(inner)
	return circle(x, y, outer) + "M" + num(x-inner) + " " + num(y) + "a" + r + " " + r + " 0 1 1 " + num(2*inner) + " 0a" + r + " " + r + " 0 1 1 " + num(-2*inner) + " 0Z"
}

// gear is a wheel with teeth.
func gear(x, y, r float64, teeth int) string {
	var at []float64
	for i := range 4 * teeth {
		reach := r
		if i%4 > 1 {
			reach = r - 2.5
		}
		px, py := round(x, y, reach, (float64(i)+0.5)*90/float64(teeth))
		at = append(at, px, py)
	}
	return line(at...) + "Z"
}

// teeth are short strokes along an upright line, as of a rack or a row of pins.
func teeth(x, top, bottom, step, length float64) string {
	var all []string
	for y := top; y <= bottom; y += step {
		all = append(all, line(x, y, x+length, y))
	}
	return strings.Join(all, "")
}

// pins are short strokes along a level line.
func pins(left, right, y, step, length float64) string {
	var all []string
	for x := left; x <= right; x += step {
		all = append(all, line(x, y, x, y+length))
	}
	return strings.Join(all, "")
}

// Parts that all families have, around their middle unless said otherwise.

func hubFigure(x, y float64) figure {
	f := figure{body: circle(x, y, 19), lines: circle(x, y, 8) + circle(x, y, 2)}
	for _, angle := range []float64{30, 150, 270} { // the balls that hold the disc
		bx, by := round(x, y, 13.5, angle)
		f.lines += circle(bx, by, 2.5)
	}
	return f
}

// spindleFigure is the motor under the hub, with its board to the left; the board
// reaches from top to bottom, measured from the middle.
func spindleFigure(x, y, r, top, bottom float64) figure {
	angle := func(down float64) float64 { return math.Asin(down/r) * 180 / math.Pi }
	left, round := num(x-88), "a8 8 0 0 1 "
	return figure{
		body:  arc(x, y, r, -180-angle(top), 180-angle(bottom)) + "H" + left + round + "-8 -8V" + num(y+top+8) + round + "8 -8Z",
		lines: circle(x, y, r-4) + circle(x-89, y+top+7, 2) + circle(x-89, y+bottom-7, 2),
	}
}

// lensFigure is the lens between its coils, hung on four wires.
func lensFigure(x, y float64) figure {
	f := figure{body: box(x-21, y-13, 42, 26, 4), lines: circle(x, y, 9) + arc(x, y, 5.5, 180, 270)}
	for _, side := range []float64{-1, 1} {
		f.lines += box(x+side*15-3, y-9, 6, 18, 1) + line(x+side*21, y-9, x+side*30, y-11) + line(x+side*21, y+9, x+side*30, y+11)
	}
	return f
}

// laserFigure is a laser diode in its can, with its three legs and the trimmer.
func laserFigure(x, y float64) figure {
	return figure{
		body:  circle(x-6, y, 12) + box(x+14, y-6, 12, 12, 2),
		lines: circle(x-6, y, 8) + circle(x-6, y, 2) + line(x+6, y-5, x+14, y-5) + line(x+6, y, x+14, y) + line(x+6, y+5, x+14, y+5) + circle(x+20, y, 3.5) + line(x+17.5, y+2.5, x+22.5, y-2.5),
	}
}

// carriage is what carries lens and laser along the rails; top is its upper edge.
func carriage(x, top, height float64) string {
	return box(x-36, top, 72, height, 7) + box(x-46, top+8, 12, 16, 3) + box(x-46, top+height-24, 12, 16, 3) + box(x+34, top+height/2-8, 12, 16, 3)
}

// sledFigure are both rails from top to bottom, the rack on the right one and the
// gear on it at the height y.
func sledFigure(x, top, bottom, y float64) figure {
	return figure{
		body:  box(x-44, top, 6, bottom-top, 3) + box(x+38, top, 6, bottom-top, 3) + gear(x+61, y, 14, 12),
		lines: teeth(x+44, y-26, y+26, 4, 3) + circle(x+61, y, 9) + circle(x+61, y, 3),
	}
}

// sledMotorFigure is a motor on its side, its worm to the left.
func sledMotorFigure(x, y float64) figure {
	return figure{
		body:  box(x-16, y-11, 34, 22, 5) + box(x+18, y-5, 4, 10, 1) + box(x-38, y-4, 22, 8, 2),
		lines: line(x-8, y-11, x-8, y+11) + line(x-34, y+4, x-31, y-4) + line(x-29, y+4, x-26, y-4) + line(x-24, y+4, x-21, y-4),
	}
}

// switchFigure is a small switch: its lever above, its legs below.
func switchFigure(x, y float64) figure {
	return figure{
		body:  box(x-15, y-6, 30, 13, 2),
		lines: line(x-13, y-6, x+13, y-14) + circle(x+13, y-14, 2) + box(x-3, y-9, 5, 3, 1) + line(x-9, y+7, x-9, y+12) + line(x, y+7, x, y+12) + line(x+9, y+7, x+9, y+12),
	}
}

// electronics are the board, and what feeds it from the right: supply, plug, fuse.
// They are 90 high. The flat cable meets the board at its lower edge, or at its upper.
func electronics(y float64, below bool) []spot {
	socket := y + 3
	if below {
		socket = y + 79
	}
	chip := func(x, y, w, h float64) string {
		return box(x, y, w, h, 1.5) + pins(x+3, x+w-2, y-3, 5, 3) + pins(x+3, x+w-2, y+h, 5, 3) + circle(x+4, y+h-4, 1)
	}
	up := y + 16
	if below {
		up = y + 8
	}
	return []spot{
		{
			id: "board",
			figure: figure{
				body: box(12, y+2, 108, 86, 4),
				lines: box(44, socket, 34, 8, 2) + pins(49, 74, socket+2, 5, 4) + chip(24, up+8, 34, 18) + chip(76, up+8, 26, 18) +
					circle(18, y+8, 2.5) + circle(114, y+8, 2.5) + circle(18, y+82, 2.5) + circle(114, y+82, 2.5),
			},
			name: over(66, up+46), touch: area{12, y, 122, y + 90},
		},
		{
			id: "fuse",
			figure: figure{
				body:  box(141, y+5, 38, 13, 4),
				lines: line(149, y+5, 149, y+18) + line(171, y+5, 171, y+18) + "M149 " + num(y+11.5) + "q5.5 -5 11 0t11 0" + line(120, y+11.5, 141, y+11.5) + "M179 " + num(y+11.5) + "h6q4 0 4 4v30q0 4 -4 4h-9",
			},
			name: over(160, y+31), touch: area{126, y, 194, y + 45},
		},
		{
			id: "supply-plug",
			figure: figure{
				body:  box(144, y+50, 32, 14, 2),
				lines: circle(150, y+57, 1.5) + circle(157, y+57, 1.5) + circle(163, y+57, 1.5) + circle(170, y+57, 1.5) + "M176 " + num(y+60) + "H200",
			},
			name: over(160, y+76), touch: area{126, y + 46, 194, y + 91},
		},
		{
			id: "supply",
			figure: figure{
				body: box(200, y+2, 80, 86, 4),
				lines: box(208, y+9, 32, 36, 2) + box(214, y+15, 20, 24, 1) + teeth(214, y+18, y+37, 3.5, 20) +
					circle(256, y+19, 9) + line(250, y+19, 254, y+19) + circle(268, y+38, 7) + line(263, y+38, 266, y+38) + circle(250, y+40, 5),
			},
			name: over(240, y+66), touch: area{198, y, 284, y + 90},
		},
	}
}
