package zone

import (
	"encoding/json"
	"io"
	"math"
)

// setFile is set.json.
type setFile struct {
	Schema   int     `json:"schema"`
	Original string  `json:"original"`
	SetZ     bool    `json:"set_z"`
	Followed bool    `json:"followed"`
	Paused   bool    `json:"paused"`
	Dry      bool    `json:"rehearsal"`
	Lead     float64 `json:"lead_mm"`
	Overlap  float64 `json:"overlap_mm"`
	Defocus  float64 `json:"defocus_mm"`
	// Burns and BurnLength are those of the original.
	Burns      int       `json:"burns"`
	BurnLength float64   `json:"burn_length_mm"`
	Zones      []setZone `json:"zones"`
}

type setZone struct {
	Program    string     `json:"program"`
	Lens       string     `json:"lens"`
	Focus      float64    `json:"focus_mm"`
	FocusPoint [2]float64 `json:"focus_point_mm"`
	PointZ     float64    `json:"focus_point_height_mm"`
	Order      int        `json:"order"`
	Seconds    float64    `json:"seconds"`
	Burns      int        `json:"burns"`
	Pieces     int        `json:"pieces"`
	BurnLength float64    `json:"burn_length_mm"`
	// Heights are those of its band.
	Heights [2]float64 `json:"heights_mm"`
	Extent  [4]float64 `json:"extent_mm"` // x0, y0, x1, y1
	// Stop and FocusStop are lines of a program with pauses, see Zone.
	Stop      int `json:"stop_line,omitempty"`
	FocusStop int `json:"focus_stop_line,omitempty"`
	// Raised are the lines between which the lens is raised by hand.
	Raised [][2]int `json:"raised_lines,omitempty"`
}

// writeSet writes the list of the zones.
func (p *Plan) writeSet(w io.Writer) error {
	f := setFile{Schema: 1, Original: p.opt.Name, SetZ: p.opt.SetZ, Followed: p.opt.Within != nil, Paused: p.opt.Pause, Dry: p.opt.Rehearsal,
		Lead: p.opt.Lead, Overlap: p.opt.Overlap, Defocus: p.opt.Defocus, Burns: p.Burns, BurnLength: tidy(p.BurnLength)}
	for i := range p.Zones {
		z := &p.Zones[i]
		f.Zones = append(f.Zones, setZone{
			Program: z.Program, Lens: p.Lenses[z.Lens].Name, Focus: z.Focus, FocusPoint: [2]float64{z.Point.X, z.Point.Y},
			PointZ: tidy(z.Point.Height), Order: z.Order, Seconds: math.Round(z.Seconds*10) / 10, Burns: z.Burns, Pieces: z.Pieces,
			BurnLength: tidy(z.BurnLength), Heights: [2]float64{tidy(z.Band.Lo), tidy(z.Band.Hi)}, Stop: z.Stop, FocusStop: z.FocusStop, Raised: z.Raised,
			Extent: [4]float64{tidy(z.Bound.Min[0]), tidy(z.Bound.Min[1]), tidy(z.Bound.Max[0]), tidy(z.Bound.Max[1])},
		})
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(f)
}

// tidy drops what float64 leaves behind the last decimal that matters.
func tidy(v float64) float64 { return math.Round(v*1e6) / 1e6 }
