package page

import (
	"encoding/json"
	"math"
	"slices"
	"strconv"

	"sagitta/internal/report/trace"
)

// column is a column of numbers, spelled short; what is no number is null.
type column struct {
	b        []byte
	decimals int
}

// by is an empty column of numbers with so many decimals.
func by(decimals int) *column { return &column{[]byte{'['}, decimals} }

func (c *column) add(v float64) {
	if len(c.b) > 1 {
		c.b = append(c.b, ',')
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		c.b = append(c.b, "null"...)
		return
	}
	v = math.Round(v*math.Pow10(c.decimals)) / math.Pow10(c.decimals)
	if v == 0 {
		v = 0 // without its sign
	}
	c.b = strconv.AppendFloat(c.b, v, 'f', -1, 64)
}

// MarshalJSON closes the column.
func (c *column) MarshalJSON() ([]byte, error) { return append(c.b[:len(c.b):len(c.b)], ']'), nil }

// columns are some by their names.
type columns map[string]*column

// programData is what the script knows of a program.
type programData struct {
	Name    string  `json:"name"`
	Lens    string  `json:"lens"`
	Near    float64 `json:"near_mm"`
	Far     float64 `json:"far_mm"`
	Defocus float64 `json:"defocus_mm"`
	Lines   int     `json:"lines"`
}

// pathData is the path for the script, as JSON that may stand in a page.
func (p *Page) pathData() ([]byte, error) {
	t := p.Trace
	if t == nil || len(t.Stretches) == 0 {
		return []byte("null"), nil
	}
	var programs []programData
	for _, x := range t.Programs {
		programs = append(programs, programData{plain(x.Name), plain(x.Lens), x.Near, x.Far, x.DefocusMM, x.Lines})
	}
	texts := make([]string, len(t.Stretches))
	for i := range t.Stretches {
		texts[i] = plain(t.Stretches[i].Text)
	}
	return json.Marshal(map[string]any{
		"programs": programs, "seconds": t.Seconds, "z_speed_mm_s": p.ZSpeed, "z_step_mm_s": p.ZStep, "inertia": t.Inertia,
		"stretches": stretchColumns(t), "texts": texts, "samples": sampleColumns(p.samples()),
	})
}

// stretchColumns are the stretches; kind is 1 for one that burns, 2 that travels, 3 both.
func stretchColumns(t *trace.Trace) columns {
	list := t.Stretches
	c := columns{
		"program": by(0), "line": by(0), "last": by(0), "worst": by(0), "original": by(0), "kind": by(0), "at": by(5), "until": by(5),
		"c_from": by(4), "c_to": by(4), "c_lo": by(4), "c_hi": by(4), "h_lo": by(4), "h_hi": by(4), "d_lo": by(4), "d_hi": by(4),
		"less": by(4), "z_speed": by(3), "z_step": by(3), "z_step_at": by(5), "slowed": by(3), "burn": by(3),
	}
	if ruled(t) {
		for name, of := range map[string]func(*trace.Stretch) float64{
			"near": func(s *trace.Stretch) float64 { return s.Near }, "far": func(s *trace.Stretch) float64 { return s.Far },
			"wanted": func(s *trace.Stretch) float64 { return s.WantedMM },
		} {
			c[name] = by(4)
			for i := range list {
				c[name].add(of(&list[i]))
			}
		}
	}
	up := risings(list)
	for i := range list {
		s := &list[i]
		kind := 0.0
		if s.Burns {
			kind++
		}
		if s.Travels {
			kind += 2
		}
		from, to := s.C.Lo, s.C.Hi
		if !up[i] {
			from, to = to, from
		}
		for name, v := range map[string]float64{
			"program": float64(s.Program), "line": float64(s.Line), "last": float64(max(s.Line, s.LastLine)), "original": float64(s.OriginalLine), "worst": float64(s.WorstLine),
			"kind": kind, "at": s.At, "until": s.Until, "c_from": from, "c_to": to, "c_lo": s.C.Lo, "c_hi": s.C.Hi,
			"less": s.Less, "z_speed": s.ZSpeed, "z_step": s.ZStep, "z_step_at": s.ZStepAt, "slowed": s.Slowed, "burn": s.BurnMM,
		} {
			c[name].add(v)
		}
		ends := func(name string, r trace.Range) {
			if !(r.Lo <= r.Hi) {
				r = trace.Range{Lo: math.NaN(), Hi: math.NaN()}
			}
			c[name+"_lo"].add(r.Lo)
			c[name+"_hi"].add(r.Hi)
		}
		ends("h", s.Height)
		ends("d", s.Defocus)
	}
	return c
}

// ruled reports whether any stretch asks for another focus than its program does.
func ruled(t *trace.Trace) bool {
	return slices.ContainsFunc(t.Stretches, func(s trace.Stretch) bool {
		if s.Program >= len(t.Programs) {
			return false
		}
		p := &t.Programs[s.Program]
		return s.Near != p.Near || s.Far != p.Far || s.WantedMM != p.DefocusMM
	})
}

// sampleColumns are the places of the read-out.
func sampleColumns(list []sample) columns {
	c := columns{"stretch": by(0), "part": by(5), "x": by(3), "y": by(3), "h": by(4)}
	for _, s := range list {
		c["stretch"].add(float64(s.stretch))
		c["part"].add(s.part)
		c["x"].add(s.at[0])
		c["y"].add(s.at[1])
		c["h"].add(s.height)
	}
	return c
}
