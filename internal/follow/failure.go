package follow

import "fmt"

// FailureKind says what a place asks that cannot be given.
type FailureKind uint8

const (
	// OffSurface: a burn beyond the measured area.
	OffSurface FailureKind = iota
	// OverHole: a burn over a missing height.
	OverHole
	// TooSteep: Z cannot keep up even with the whole depth spent and the
	// burn as slow as allowed. Amount is the rate needed in mm/min.
	TooSteep
	// TooDeep: one setting must serve heights further apart than the
	// depth. Amount is the part of the depth that would be needed.
	TooDeep
	// OutOfRange: Z would leave the profile's range, or that range and the
	// surface leave nothing. Amount is by how much, in mm.
	OutOfRange
	// NoRoom: the surface bends so much that the path would have to turn
	// closer than cuts may stand. Amount is by how much it is out, in mm.
	NoRoom
	// NotFlat: Z is set by hand, and the burn (or travel) does not hold at
	// the rest value. Amount is by how much in mm.
	NotFlat
	// NoWay: there is no place where Z could go to height before the burn.
	// Amount is how far it is from there, in mm.
	NoWay
	// TooLong: a line is written longer than the controller takes. Amount
	// is its length in characters.
	TooLong
	// HeadClose: the head cannot come here without its tip being nearer to
	// the stock, or to a box, than its least gap. Amount is by how much, in mm.
	HeadClose
)

// Failure is a place where the job cannot be done.
type Failure struct {
	Line   int     // of the program
	Last   int     // last line of a run of burns; 0 for a single line
	X, Y   float64 // program XY, mm
	Kind   FailureKind
	Amount float64
}

// String says it in a line, without the file's name.
func (f Failure) String() string {
	at := fmt.Sprintf("at X%.3f Y%.3f", f.X, f.Y)
	switch f.Kind {
	case OffSurface:
		return "a burn leaves the surface " + at
	case OverHole:
		return "a burn passes over a hole in the surface " + at
	case TooSteep:
		return fmt.Sprintf("the surface asks for a Z rate of %.4g mm/min %s, even with the whole depth spent", f.Amount, at)
	case TooDeep:
		return fmt.Sprintf("burns up to line %d, at one Z, need %.2f times the usable depth", f.Last, f.Amount)
	case OutOfRange:
		return fmt.Sprintf("the range of Z is exceeded by %.3f mm %s", f.Amount, at)
	case NoRoom:
		return fmt.Sprintf("the surface bends too sharply to follow: out by %.4f mm %s", f.Amount, at)
	case NotFlat:
		return fmt.Sprintf("does not run flat: out by %.3f mm %s", f.Amount, at)
	case NoWay:
		return fmt.Sprintf("Z has no place to move by %.3f mm before the burn %s: put the beam on later, after the work offset", f.Amount, at)
	case HeadClose:
		return fmt.Sprintf("the head cannot come here: its tip would be too close to what stands about it by %.3f mm %s", f.Amount, at)
	case TooLong:
		return fmt.Sprintf("the line is written with %.0f characters, more than the controller takes (line_max)", f.Amount)
	}
	return "cannot be done " + at
}

// keptFailures is how many failures are kept with their places.
const keptFailures = 20

// mostFailures bounds the failures that are told apart, and so the count.
const mostFailures = 100_000

// failures keeps the first failures and counts them. A move can fail at each of
// its gates, and in each window that has it: it counts once.
type failures struct {
	list  []Failure
	count int
	// seen has those counted, and their places in the list, if kept.
	seen map[failed]int
}

// failed is what fails.
type failed struct {
	line int
	kind FailureKind
}

func (f *failures) add(x Failure) {
	if f.seen == nil {
		f.seen = map[failed]int{}
	}
	key := failed{x.Line, x.Kind}
	if k, has := f.seen[key]; has {
		if k < len(f.list) && x.Amount > f.list[k].Amount {
			f.list[k].Amount, f.list[k].X, f.list[k].Y = x.Amount, x.X, x.Y
		}
		return
	}
	if f.count == mostFailures {
		return
	}
	f.seen[key] = f.count
	f.count++
	if len(f.list) < keptFailures {
		f.list = append(f.list, x)
	}
}

// UnmetError tells that the job cannot be done as asked, with the places.
type UnmetError struct {
	Name     string
	Failures []Failure
	// Count is the number of failures, those not listed included; from
	// mostFailures on there may be more.
	Count int
	// NoBurn tells that nothing burns at all.
	NoBurn bool
}

// Error names the first place and how many there are.
func (e *UnmetError) Error() string {
	if e.NoBurn {
		return e.Name + ": nothing burns in this program"
	}
	f := e.Failures[0]
	if e.Count == 1 {
		return fmt.Sprintf("%s:%d: %s", e.Name, f.Line, f)
	}
	return fmt.Sprintf("%s:%d: %s (the first of %d)", e.Name, f.Line, f, e.Count)
}
