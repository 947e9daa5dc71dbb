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
	// FeedCountsZ reports whether F is the speed along XYZ, as RS274 2.1.2.5
	// has it, where ZAxis is 'Z'. Otherwise it is the speed over XY.
	FeedCountsZ bool
	// Start is where the head stands at the first block, in mm. Its Z is
	// taken as it is. Its X and Y are too where StartXYKnown is set;
	// otherwise they serve only a program whose first move in XY is
	// relative.
	Start        Point
	StartXYKnown bool
}

// DefaultConfig returns what holds without a machine profile.
func DefaultConfig() Config {
	return Config{
		ZAxis:        'Z',
		BeamOn:       []int{3, 4},
		BeamOff:      []int{5},
		PowerFollows: []int{4},
		PowerWord:    'S',
		RapidMMMin:   6000,
		FeedCountsZ:  true,
	}
}

// A role is what a letter means to the interpreter.
type role uint8

const (
	rolePass  role = iota // N, T and arguments of M words
	roleWrong             // an axis that is not followed
	roleX
	roleY
	roleZ
	roleI
	roleJ
	roleK
	roleR
	roleF
	rolePower
	roleSpeed // S where it is not the power word
	roleP
	roleG
	roleM
)

// role returns what a letter means.
func (c *Config) role(letter byte) role {
	switch letter {
	case c.ZAxis:
		return roleZ
	case c.PowerWord:
		return rolePower
	case 'A', 'B', 'C', 'U', 'V', 'W', 'Z':
		return roleWrong
	case 'X':
		return roleX
	case 'Y':
		return roleY
	case 'I':
		return roleI
	case 'J':
		return roleJ
	case 'K':
		return roleK
	case 'R':
		return roleR
	case 'F':
		return roleF
	case 'S':
		return roleSpeed
	case 'P':
		return roleP
	case 'G':
		return roleG
	case 'M':
		return roleM
	}
	return rolePass
}

// A task is what an M word does.
type task uint8

const (
	taskUnknown task = iota
	taskPass         // known, and no matter here: M6, M48, M49, M110
	taskCoolant      // M7 to M9
	taskSpindle      // M3 to M5 where they are not the beam's
	taskText         // M117, M118
	taskCall         // M98, M99
	taskPause        // M0, M1, M60
	taskEnd          // M2, M30
	taskOn
	taskOnFollows // as taskOn, and power follows speed
	taskOff
)

// task returns what an M word does.
func (c *Config) task(m int64) task {
	if beam := c.beamTask(m); beam != taskUnknown {
		return beam
	}
	switch m {
	case 6, 48, 49, 110:
		return taskPass
	case 7, 8, 9:
		return taskCoolant
	case 3, 4, 5:
		// RS274 3.6 has them for a spindle. Where the bench switches its
		// beam otherwise, they do nothing to it.
		return taskSpindle
	case 117, 118:
		// Not in RS274: texts for a display, and calls of subprograms
		// (common practice, no source).
		return taskText
	case 98, 99:
		return taskCall
	case 0, 1, 60:
		return taskPause
	case 2, 30:
		return taskEnd
	}
	return taskUnknown
}

// beamTask returns the task of M word m if it is a beam word.
func (c *Config) beamTask(m int64) task {
	for _, off := range c.BeamOff {
		if int64(off) == m {
			return taskOff
		}
	}
	for _, on := range c.BeamOn {
		if int64(on) != m {
			continue
		}
		for _, follows := range c.PowerFollows {
			if int64(follows) == m {
				return taskOnFollows
			}
		}
		return taskOn
	}
	return taskUnknown
}
