package setup

import (
	"embed"
	"fmt"
	"text/template"

	"github.com/paulmach/orb"

	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Sheet is what the operator needs at the bench to run one program. Lengths are in mm,
// and heights count from the datum.
type Sheet struct {
	// Program is the file that is run, and Surface that of the heights. Corrected tells that
	// Z is written for the surface, Moves that it moves while it burns, and Rehearsal that
	// the beam stays off.
	Program, Surface            string
	Corrected, Moves, Rehearsal bool
	// Unsure is how sure the heights are, to be read after that.
	Unsure string
	// Setting is where and how the focus is set, and Usable how far from there the lens is
	// sharp, what is not sure taken off; Given is how that was given where it is of no record.
	Setting Setting
	Usable  focus.Depth
	Given   string
	// Less is by how much it is less where heights are least sure, 0 where they are all as
	// sure.
	Less float64
	// Boxes stand above the stock.
	Boxes []surface.Box
	// Work is the work offset that the program selects, "" for none, and Shifted tells that
	// it puts places off besides. Start is from where it is taken to start.
	Work    string
	Shifted bool
	// Fixture says which fixture the stock is in, "" for none, and Select the work offset
	// that is to be selected before the start, as the program selects none.
	Fixture, Select string
	// Jig says what the program is made of where it makes many parts, "" for one, and Places
	// lists them.
	Jig    string
	Places []string
	// Frame says what else must be true of the bench for its places to be right.
	Frame []string
	Start string
	// Standoff is from the tip of the head to the stock at best focus, nil where that is not
	// known, and Clear what is kept clear and what was not checked.
	Standoff *float64
	Clear    []string
	// Burns, Length and Extent are those of the burns over XY, Seconds is the program's
	// time, ByFeeds that it is by feeds alone, and not with the inertia of the axes.
	Burns   int
	Length  float64
	Extent  orb.Bound
	Seconds float64
	ByFeeds bool
	// Within is how far from best focus it burns at most.
	Within float64
	// Low and High are the extremes of the stock under burns, ZLow and ZHigh of Z as written.
	Low, High   focus.Extreme
	ZLow, ZHigh float64
}

// Caution is what every sheet ends with.
const Caution = "CAUTION: wear eye protection made for the wavelength, and beware of stock that reflects. Extract the fumes, and know what the stock gives off. Keep an extinguisher at hand, rehearse with the beam off, keep clear of moving axes, and never leave a burning machine unattended. Local rules and licensed practice come first."

//go:embed text/*.txt
var textFiles embed.FS

var texts = phrase.NewTexts(textFiles, template.FuncMap{
	"mm1":     func(v float64) string { return fmt.Sprintf("%.1f", v) },
	"between": Between, "word": Word,
	"caution": func() string { return Caution },
})

// Text is the sheet: a page to print.
func (s *Sheet) Text() []byte {
	return []byte(Heading("BENCH SHEET", s.Program, 1, 1) + LaidOut(texts.Fill("sheet", s)))
}

// Sharp is how far from where the focus is set the lens is sharp.
func (s *Sheet) Sharp() string {
	text := fmt.Sprintf("sharp from %s mm nearer to %s mm further, what is not sure taken off", phrase.MM(s.Usable.Near), phrase.MM(s.Usable.Far))
	if s.Less > 0 {
		text += fmt.Sprintf(" (%s mm less where heights are least sure)", phrase.MM(s.Less))
	}
	if s.Given != "" {
		text += "; " + s.Given
	}
	return text
}

// mostBoxes is how many boxes the sheet lists.
const mostBoxes = 5

// ListedBoxes says where the boxes stand, the first of many.
func (s *Sheet) ListedBoxes() (list []string) {
	for k, b := range s.Boxes {
		if k == mostBoxes && len(s.Boxes) > mostBoxes+1 {
			return append(list, fmt.Sprintf("and %d more", len(s.Boxes)-k))
		}
		list = append(list, fmt.Sprintf("X%s to %s, Y%s to %s, %s", phrase.MM(b.X0), phrase.MM(b.X1), phrase.MM(b.Y0), phrase.MM(b.Y1), Level(b.Height)))
	}
	return list
}

// Eye is what the eye should see while the program runs, and when to stop.
func (s *Sheet) Eye() string {
	gap := "the gap between lens and stock"
	if s.Standoff != nil {
		gap = fmt.Sprintf("the gap of %.1f mm under the tip", *s.Standoff)
	}
	about := func(e focus.Extreme) string { return fmt.Sprintf("%s (line %d)", phrase.XY(e.X, e.Y), e.Line) }
	if s.Corrected {
		text := fmt.Sprintf("%s stays within %s mm of what it is in focus, on every burn", gap, phrase.MM(s.Within))
		if s.Moves {
			what := map[bool]string{true: "the table goes down and up", false: "the head goes up and down"}[s.Setting.Turn.TableMoves]
			text += fmt.Sprintf(": %s with the stock, by about %s mm from the lowest at %s to the highest at %s", what, phrase.MM(s.High.MM-s.Low.MM), about(s.Low), about(s.High))
		}
		return text + ". Stop where it opens or closes further"
	}
	against := func(h float64) string {
		if d := s.Setting.Height - h; d >= 0 {
			return phrase.MM(d) + " mm more than in focus"
		}
		return phrase.MM(h-s.Setting.Height) + " mm less than in focus"
	}
	return fmt.Sprintf("Z stands still on burns, and %s changes with the stock: it is least at %s, %s, and greatest at %s, %s. Stop where it closes further",
		gap, about(s.High), against(s.High.MM), about(s.Low), against(s.Low.MM))
}
