package machine

// Config is what an Interpreter is told of the bench. All numbers of M words
// are those behind the letter: 3 is M3.
type Config struct {
	// Inches reports whether lengths are in inches before the first G20 or G21.
	Inches bool
	// ZAxis is the letter of the axis that moves the focus: 'Z', 'U', 'V',
	// 'W' or 'A'. Its position is Point.Z.
	ZAxis byte
	// BeamOn and BeamOff switch the beam.
	BeamOn, BeamOff []int
	// PowerFollows are those of BeamOn that scale power with speed.
	PowerFollows []int
	// PowerWord is the letter of the power word. G4 keeps its P.
	PowerWord byte
	// RapidsFire reports whether G0 with the beam on burns.
	RapidsFire bool
	// RapidMMMin is the speed of G0 in mm/min, above 0.
	RapidMMMin float64
	// RapidsStraight reports whether a G0 goes straight, all axes arriving at
	// once. Else each goes at its own rate.
	RapidsStraight bool
	// FeedCountsZ reports whether F is the speed along XYZ, as RS274 2.1.2.5
	// has it, where ZAxis is 'Z'. Otherwise it is the speed over XY.
	FeedCountsZ bool
	// Start is where the head stands at the first block, in mm. Its Z is
	// taken as it is. Its X and Y are too where StartXYKnown is set;
	// otherwise they serve only a program whose first move in XY is
	// relative.
	Start        Point
	StartXYKnown bool
	// Work is the work offset that programs are made for, 540 for G54: one that selects
	// another is not supported. 0 is any, and G54 before the first word.
	Work GCode
}

// DefaultConfig returns what holds without a machine profile.
func DefaultConfig() Config {
	return Config{
		ZAxis:          'Z',
		BeamOn:         []int{3, 4},
		BeamOff:        []int{5},
		PowerFollows:   []int{4},
		PowerWord:      'S',
		RapidMMMin:     6000,
		RapidsStraight: true,
		FeedCountsZ:    true,
	}
}
