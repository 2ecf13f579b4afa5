package view

import "slices"

// slotIn is a closed drive with a slot in front: its own lid, which carries the
// clamp, laid back, and the disc half in under the rollers.
func slotIn() *drawing {
	return &drawing{
		id:     "slot-in",
		height: 508,
		face:   area{0, 267, drawingWidth, 508},
		under: figure{
			body: box(8, 98, 272, 322, 6) + // the drive
				carriage(144, 154, 112),
			lines: "",
		},
		spots: slices.Concat(
			electronics(4, true),
			deck(),
			[]spot{
				{
					id: "clamp",
					figure: figure{
						body:  box(20, 102, 248, 46, 5),
						lines: circle(144, 125, 18) + circle(144, 125, 12) + circle(144, 125, 4) + "M30 110h78M30 140h78M180 140h78" + circle(28, 125, 2.5) + circle(260, 125, 2.5),
					},
					name: over(206, 122), touch: area{96, 103, 280, 150},
				},
				{id: "seat-switch", figure: switchFigure(34, 340), name: over(54, 366), touch: area{8, 321, 100, 378}},
				{
					id: "disc",
					figure: figure{
						body:  ring(144, 430, 74, 9),
						lines: circle(144, 430, 19) + circle(144, 430, 69) + arc(144, 430, 58, 20, 44) + arc(144, 430, 50, 22, 42) + arc(144, 430, 58, 136, 160) + arc(144, 430, 50, 138, 158),
					},
					name: over(144, 464), touch: area{92, 432, 196, 504},
				},
				{
					id: "rollers",
					figure: figure{
						body:  box(24, 384, 240, 6, 3) + box(44, 378, 80, 18, 6) + box(164, 378, 80, 18, 6) + box(196, 326, 34, 20, 5) + gear(250, 336, 10, 9) + gear(262, 356, 11, 10) + gear(262, 382, 12, 10),
						lines: line(230, 336, 241, 336) + line(204, 326, 204, 346) + circle(250, 336, 2.5) + circle(262, 356, 2.5) + circle(262, 382, 2.5) + pins(54, 118, 378, 8, 18) + pins(174, 238, 378, 8, 18),
					},
					name: over(220, 362), touch: area{184, 318, 284, 398},
				},
				{
					id:     "entry",
					figure: figure{body: box(34, 402, 32, 13, 2), lines: circle(44, 408.5, 3) + circle(56, 408.5, 3) + line(50, 402, 50, 396)},
					name:   over(44, 450), touch: area{8, 400, 88, 464},
				},
			},
		),
		over: figure{body: box(4, 416, 280, 18, 7), lines: box(58, 422, 172, 6, 3)},
	}
}
