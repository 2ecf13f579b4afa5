package view

import "slices"

// tray is a drive with a motorised tray: electronics behind, the bridge with the
// clamp, the deck, and the tray run out to the front with the disc in it.
func tray() *drawing {
	return &drawing{
		id:     "tray",
		height: 500,
		face:   area{0, 267, drawingWidth, 500},
		under: figure{
			body: box(22, 380, 244, 112, 10) + // the tray
				box(8, 98, 272, 284, 10) + // the frame
				carriage(144, 154, 112),
			lines: line(98, 351, 98, 382) + line(190, 351, 190, 382) + arc(144, 420, 72, 330, 570) + line(98, 351, 190, 351),
		},
		spots: slices.Concat(
			electronics(4, true),
			deck(),
			[]spot{
				{
					id: "clamp",
					figure: figure{
						body:  "M28 112H128A21.3 21.3 0 0 1 160 112H260a8 8 0 0 1 8 8v12a8 8 0 0 1 -8 8H160A21.3 21.3 0 0 1 128 140H28a8 8 0 0 1 -8 -8v-12a8 8 0 0 1 8 -8Z",
						lines: circle(144, 126, 15) + circle(144, 126, 5) + circle(30, 126, 3) + circle(258, 126, 3),
					},
					name: over(206, 127), touch: area{96, 103, 280, 150},
				},
				{
					id: "tray-drive",
					figure: figure{
						body:  circle(26, 338, 12) + circle(70, 338, 15) + gear(90, 352, 9, 8),
						lines: line(26, 326, 70, 323) + line(26, 350, 70, 353) + circle(26, 338, 5) + circle(70, 338, 5) + circle(70, 338, 10),
					},
					name: over(52, 368), touch: area{8, 322, 104, 380},
				},
				{id: "tray-switch", figure: switchFigure(232, 340), name: over(232, 366), touch: area{184, 320, 284, 380}},
				{
					id: "disc",
					figure: figure{
						body:  ring(144, 420, 66, 9),
						lines: circle(144, 420, 18) + circle(144, 420, 61) + arc(144, 420, 52, 200, 228) + arc(144, 420, 44, 202, 224) + arc(144, 420, 52, 312, 340) + arc(144, 420, 44, 316, 338),
					},
					name: over(144, 454), touch: area{84, 384, 204, 486},
				},
			},
		),
		over: figure{body: box(16, 484, 256, 12, 4), lines: line(206, 490, 252, 490)},
	}
}

// deck is what lies around the hub where the pick-up runs behind it.
func deck() []spot {
	return []spot{
		{
			id: "flex",
			figure: figure{
				body:  "M52 86V180A26 26 0 0 0 78 206H108V188H82A12 12 0 0 1 70 176V86Z",
				lines: "M58 86V179A21 21 0 0 0 79 200H108M64 86V178A16 16 0 0 0 80 194H108",
			},
			name: over(54, 226), touch: area{8, 152, 100, 240},
		},
		{id: "spindle", figure: spindleFigure(144, 296, 30, -22, 22), name: over(80, 298), touch: area{40, 272, 112, 320}},
		{id: "hub", figure: hubFigure(144, 296), name: over(144, 332), touch: area{116, 274, 172, 345}},
		{id: "sled", figure: sledFigure(144, 152, 282, 212), name: over(250, 226), touch: area{190, 208, 284, 254}},
		{id: "laser", figure: laserFigure(144, 173), name: over(144, 198), touch: area{108, 154, 180, 210}},
		{id: "lens", figure: lensFigure(144, 227), name: over(144, 253), touch: area{108, 211, 180, 266}},
		{id: "sled-motor", figure: sledMotorFigure(232, 192), name: label{278, 166, "end"}, touch: area{188, 152, 284, 207}},
		{id: "home-switch", figure: switchFigure(214, 278), name: label{278, 303, "end"}, touch: area{188, 258, 284, 316}},
	}
}
