package sheet

import (
	"bufio"
	"cmp"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"

	"sagitta/internal/cover"
	"sagitta/internal/focus"
	"sagitta/internal/setup"
	"sagitta/internal/surface"
	"sagitta/internal/svg"
)

// Set is what there is to tell of a set of zones. Lengths are in mm, and
// heights count from the datum.
type Set struct {
	// Name is the original's file.
	Name string
	// SetZ tells that programs write their focus into Z, Followed that they
	// follow the surface within their zones, Paused that they are one, and
	// Rehearsal that they keep the beam off.
	SetZ, Followed, Paused, Rehearsal bool
	// Original tells that each zone burns in the original's order.
	Original bool
	// Lead is how far the head runs before and after a seam, Overlap how far
	// burns go on over it, Defocus the wanted one, + further.
	Lead, Overlap, Defocus float64
	// Turn is how the focus is set at the bench, and Datum where heights count from,
	// nil where they do so from where the surface's is zero.
	Turn  setup.Turn
	Datum *[2]float64
	// FirstZ is the programmed Z at which the focus is set, that of the first burn.
	// From where programs count on to start, as text, is in Start, "" where that
	// does not matter, and the place over XY in StartXY, nil where that does not.
	FirstZ  float64
	Start   string
	StartXY *[2]float64

	// Burns and BurnLength are those of the original, Low and High the
	// heights they see; CutBurns are cut in Cuts places.
	Burns      int
	BurnLength float64
	// ByFeeds tells that times are by feeds alone, and not with the inertia of the axes.
	ByFeeds bool
	// Paced tells that it is known which burns are at speed.
	Paced          bool
	Low, High      float64
	CutBurns, Cuts int

	Lenses []Lens
	// Made is how the set was made.
	Made Made
	// Zones are the zones in the order of burning.
	Zones []Zone
	// Surface is what the bands are outlined on, Unsure how sure its heights are, to be
	// read after "heights are", and Boxes stand above the stock.
	Surface *surface.Placed
	Unsure  string
	Boxes   []surface.Box
}

// Made is how a set was made, so that its folder can be judged with nothing but the
// original, on any computer.
type Made struct {
	// Version is that of the tool.
	Version string `json:"version,omitempty"`
	// Digest is that of the original.
	Digest string `json:"original_digest,omitempty"`
	// Options are those in force, by their names.
	Options map[string]json.RawMessage `json:"options,omitempty"`
	// Lenses and Machine are what their records say.
	Lenses  []json.RawMessage `json:"lenses,omitempty"`
	Machine json.RawMessage   `json:"machine,omitempty"`
	// Files are the digests of the files in the folder that belong to it, by
	// their names.
	Files map[string]string `json:"files,omitempty"`
}

// Lens is a lens of a set.
type Lens struct {
	Name string
	// Unnamed tells that it has no name of its own, but a depth alone.
	Unnamed bool
	// Standoff is how high the tip of the head stands over the stock at best focus, nil
	// where that is not known, and FocusHeight how much further from it than the bench's
	// reference lens it stands then; FocusShift is how much further than the gauge sets it.
	Standoff    *float64
	FocusHeight float64
	FocusShift  float64
	// Usable is its own depth, where zones that are followed within are made as
	// for a deeper one.
	Usable focus.Depth
	// Less is by how much it is less where heights are least sure, 0 where they are all as
	// sure.
	Less float64
	// SpotShift is where its spot stands beside that of the bench's reference lens, in
	// mm, nil where that is not known.
	SpotShift *[2]float64
	// Figures is how many unbroken runs of burns it is given, over heights from
	// Low to High.
	Figures   int
	Low, High float64
	// Zones is how many zones it has. Lows are heights that are burned, any two
	// further apart than SpacingMM, which is all that one setting serves: no fewer
	// zones than they are will do.
	Zones     int
	Lows      []float64
	SpacingMM float64
}

// IsFewest reports whether it is shown that no fewer zones would do.
func (l *Lens) IsFewest() bool { return l.Zones > 0 && len(l.Lows) == l.Zones }

// Zone is what one setting of one lens serves.
type Zone struct {
	// Order is its place among the programs, from 1: by lens, the finest
	// first, and then by focus, the highest first.
	Order int
	// Lens is its lens's number in the list of them.
	Lens int
	// Focus is where the focus is set, in mm over the datum.
	Focus float64
	// Band are the heights it serves.
	Band cover.Span
	// Point is where to set the focus.
	Point setup.FocusPoint

	// Of its burns: their number (parts of cut burns counted each), how many
	// pieces they are in, their length and extent.
	Burns, Pieces int
	BurnLength    float64
	Bound         orb.Bound
	// Lines are its burns as they are drawn.
	Lines *Lines
	// Seconds is how long its program takes, or its part of one with pauses, with the
	// inertia of the axes where that is known, else by feeds alone, and less what
	// the operator takes where it waits, Waits times. Program is its file, and Digest
	// that file's.
	Seconds         float64
	Waits           int
	Program, Digest string
	// Unbroken counts its unbroken burns as its program has them, TooSlow those that
	// begin or end below 90 % of their feed, and Darker those of them in which the
	// power does not follow the speed. They hold where Set.Paced says so.
	Unbroken, TooSlow, Darker int
	// Shorter counts the seams that are run into or out of over less than there is to
	// be, as there is no room, ShortestMM at the least.
	Shorter    int
	ShortestMM float64
	// Slowed counts the burns that are slowed where the surface is followed within,
	// SlowedBy is the greatest part of its speed that one has lost.
	Slowed   int
	SlowedBy float64
	// Stop is the line of the stop from which on it counts, in a program
	// with pauses, and FocusStop that of the stop at its focus point, the
	// same unless the lens is changed before; 0 otherwise.
	Stop, FocusStop int
	// Clear is how high over the datum the focus is to stand at least behind the stop before
	// that, nil where Z is written for it.
	Clear *float64
	// Lift is how far travels at the program's ends are lifted to be clear
	// in this zone, in mm.
	Lift float64
	// Raised are the times that its program waits for the lens to be raised by
	// hand, by up to Raise mm.
	Raised []Raise
	Raise  float64
}

// Raise is one time that the lens is raised by hand.
type Raise struct {
	// From is the line of the stop to raise it, To of that to bring it back, 0
	// where it stays up.
	From, To int
	// By is by how many mm it is raised at least.
	By float64
}

// Write writes the sheet, the list and the maps into a folder.
func (s *Set) Write(dir string) error {
	type file struct {
		name  string
		write func(*bufio.Writer) error
	}
	l, m := s.layout(), newMesh(s.Surface)
	files := []file{{"zones.geojson", s.writeGeoJSON}, {"set.json", s.writeList}, {"sheet.txt", s.writeBench}}
	for k := range l.Pages() {
		files = append(files, file{svg.PageName(mapFirst, k), func(w *bufio.Writer) error { return s.writeSVG(w, l, m, k) }})
	}
	for _, f := range files {
		if err := writeFile(filepath.Join(dir, f.name), f.write); err != nil {
			return err
		}
	}
	return nil
}

func writeFile(name string, write func(*bufio.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(f)
	return cmp.Or(write(out), out.Flush(), f.Close())
}

// File is the original's name without folder.
func (s *Set) File() string { return filepath.Base(s.Name) }

// title is that without its ending.
func (s *Set) title() string {
	base := s.File()
	if base = strings.TrimSuffix(base, filepath.Ext(base)); base == "-" {
		return "a job"
	}
	return base
}

// setZone is a zone in set.json.
type setZone struct {
	Program    string     `json:"program"`
	Digest     string     `json:"digest,omitempty"`
	Lens       string     `json:"lens"`
	Focus      float64    `json:"focus_mm"`
	FocusPoint [2]float64 `json:"focus_point_mm"`
	PointZ     float64    `json:"focus_point_height_mm"`
	Order      int        `json:"order"`
	Seconds    float64    `json:"seconds"`
	Waits      int        `json:"waits"`
	Burns      int        `json:"burns"`
	Pieces     int        `json:"pieces"`
	BurnLength float64    `json:"burn_length_mm"`
	// Unbroken counts unbroken burns, TooSlow those that begin or end below 90 % of
	// their feed; missing where that is not known.
	Unbroken *int `json:"unbroken_burns,omitempty"`
	TooSlow  *int `json:"unbroken_burns_too_slow,omitempty"`
	// Heights are those of its band.
	Heights [2]float64 `json:"heights_mm"`
	Extent  [4]float64 `json:"extent_mm"` // x0, y0, x1, y1
	// Stop and FocusStop are lines of a program with pauses, see Zone.
	Stop      int `json:"stop_line,omitempty"`
	FocusStop int `json:"focus_stop_line,omitempty"`
	// Raised are the lines between which the lens is raised by hand, RaisedMM by
	// how much.
	Raised   [][2]int  `json:"raised_lines,omitempty"`
	RaisedMM []float64 `json:"raised_mm,omitempty"`
}

// writeList writes the list of the zones.
func (s *Set) writeList(w *bufio.Writer) error {
	f := struct {
		Schema   int    `json:"schema"`
		Original string `json:"original"` // its name alone
		Made
		SetZ       bool        `json:"set_z"`
		Followed   bool        `json:"followed"`
		Paused     bool        `json:"paused"`
		Rehearsal  bool        `json:"rehearsal"`
		InOrder    string      `json:"order"`
		Lead       float64     `json:"lead_mm"`
		Overlap    float64     `json:"overlap_mm"`
		Defocus    float64     `json:"defocus_mm"`
		Start      *[2]float64 `json:"start_mm,omitempty"`
		Burns      int         `json:"burns"` // of the original
		BurnLength float64     `json:"burn_length_mm"`
		Zones      []setZone   `json:"zones"`
	}{1, s.File(), s.Made, s.SetZ, s.Followed, s.Paused, s.Rehearsal, s.Ordered(), s.Lead, s.Overlap, s.Defocus, s.StartXY, s.Burns, tidy(s.BurnLength), nil}
	for i := range s.Zones {
		z := &s.Zones[i]
		f.Zones = append(f.Zones, setZone{
			Program: z.Program, Digest: z.Digest, Lens: s.Lenses[z.Lens].Name, Focus: z.Focus, FocusPoint: [2]float64{z.Point.X, z.Point.Y},
			PointZ: tidy(z.Point.Height), Order: z.Order, Seconds: math.Round(z.Seconds*10) / 10, Waits: z.Waits, Burns: z.Burns, Pieces: z.Pieces,
			BurnLength: tidy(z.BurnLength), Heights: [2]float64{tidy(z.Band.Lo), tidy(z.Band.Hi)}, Stop: z.Stop, FocusStop: z.FocusStop,
			Extent: [4]float64{tidy(z.Bound.Min[0]), tidy(z.Bound.Min[1]), tidy(z.Bound.Max[0]), tidy(z.Bound.Max[1])},
		})
		to := &f.Zones[i]
		if s.Paced {
			to.Unbroken, to.TooSlow = &z.Unbroken, &z.TooSlow
		}
		for _, r := range z.Raised {
			to.Raised, to.RaisedMM = append(to.Raised, [2]int{r.From, r.To}), append(to.RaisedMM, tidy(r.By))
		}
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(f)
}

// Settings is how many zones there are, of which some may be set more than once.
func (s *Set) Settings() (n int) {
	for i := range s.Lenses {
		n += s.Lenses[i].Zones
	}
	return n
}

// Ordered is which order the zones burn in, by the name of the option.
func (s *Set) Ordered() string {
	if s.Original {
		return "original"
	}
	return "best"
}

// DigestOf reads a file to its end and gives its digest as the list has it.
func DigestOf(r io.Reader) (string, error) {
	h := sha256.New()
	_, err := io.Copy(h, r)
	return fmt.Sprintf("sha256:%x", h.Sum(nil)), err
}

// tidy drops what float64 leaves behind the last decimal that matters.
func tidy(v float64) float64 { return math.Round(v*1e6) / 1e6 }
