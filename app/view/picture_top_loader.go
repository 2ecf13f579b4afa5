package view

// topLoader is a drive under a lid: the lid laid back at the top, which holds the
// clamp, and the disc on the hub, cut away in front so that the pick-up shows.
func topLoader() *drawing {
	return &drawing{
		id:     "top-loader",
		height: 490,
		face:   area{0, 0, drawingWidth, 248},
		under: figure{
			body: "M30 96V52A114 48 0 0 1 258 52V96Z" + // the lid
				box(4, 102, 280, 384, 18) + // the case
				box(62, 92, 22, 14, 3) + box(204, 92, 22, 14, 3) + // its hinges
				carriage(144, 252, 112),
			lines: "M38 96V56A106 44 0 0 1 250 56V96" + arc(144, 200, 92, 150, 390) + line(4, 384, 284, 384),
		},
		hidden: arc(144, 200, 82, 0, 180),
		spots: append([]spot{
			{
				id: "clamp",
				figure: figure{
					body:  circle(144, 40, 23),
					lines: circle(144, 40, 17) + circle(144, 40, 6) + circle(144, 28, 2) + circle(134, 46, 2) + circle(154, 46, 2),
				},
				name: over(144, 77), touch: area{100, 12, 188, 91},
			},
			{id: "lid-switch", figure: switchFigure(32, 150), name: label{13, 119, "start"}, touch: area{6, 105, 96, 168}},
			{id: "spindle", figure: spindleFigure(144, 200, 39, 2, 38), name: over(80, 222), touch: area{42, 198, 112, 246}},
			{
				id: "disc",
				figure: figure{
					body:  sector(144, 200, 82, 24, 180, 360),
					lines: arc(144, 200, 34, 180, 360) + arc(144, 200, 77, 180, 360) + arc(144, 200, 66, 198, 222) + arc(144, 200, 58, 200, 220) + arc(144, 200, 66, 318, 342) + arc(144, 200, 58, 320, 340),
				},
				name: over(144, 146), touch: area{98, 118, 200, 172},
			},
			{id: "hub", figure: hubFigure(144, 200), name: over(144, 234), touch: area{116, 178, 172, 247}},
			{id: "sled", figure: sledFigure(144, 244, 368, 326), name: over(250, 310), touch: area{190, 285, 284, 330}},
			{id: "lens", figure: lensFigure(144, 269), name: over(144, 295), touch: area{108, 250, 180, 307}},
			{id: "laser", figure: laserFigure(144, 324), name: over(144, 350), touch: area{108, 308, 180, 364}},
			{id: "home-switch", figure: switchFigure(214, 247), name: label{281, 272, "end"}, touch: area{188, 228, 284, 285}},
			{id: "sled-motor", figure: sledMotorFigure(232, 346), name: label{281, 372, "end"}, touch: area{188, 330, 284, 384}},
			{
				id: "flex",
				figure: figure{
					body:  "M108 312H78A26 26 0 0 0 52 338V396H70V342A12 12 0 0 1 82 330H108Z",
					lines: "M108 318H79A21 21 0 0 0 58 339V396M108 324H80A16 16 0 0 0 64 340V396",
				},
				name: over(56, 298), touch: area{8, 286, 102, 382},
			},
		}, electronics(392, false)...),
	}
}
