package cli

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sagitta/internal/follow"
	"sagitta/internal/surface"
	"sagitta/internal/verify"
)

// loadHead reads the boxes, and finds out what is known of the head.
func (l *loaded) loadHead(s *session) error {
	if l.o.keepOut != "" {
		in, err := s.files.Open(l.o.keepOut)
		if err != nil {
			return err
		}
		defer in.Close()
		if l.boxes, err = surface.ReadKeepOut(in, in.Name); err != nil {
			return err
		}
	}
	m := l.machine
	h := follow.Head{Boxes: l.boxes}
	if l.lens == nil || l.lens.StandoffMM == nil {
		l.headless = append(l.headless, "standoff_mm of the lens record")
	} else {
		h.Standoff = *l.lens.StandoffMM
	}
	var missing []string
	if m.HeadRadiusMM == nil {
		missing = append(missing, "head_radius_mm")
	} else {
		h.Radius = *m.HeadRadiusMM
	}
	if m.GapMinMM == nil {
		missing = append(missing, "gap_min_mm")
	} else {
		h.Gap = *m.GapMinMM
	}
	if missing != nil {
		l.headless = append(l.headless, strings.Join(missing, " and ")+" of the machine profile")
	}
	if l.headless == nil {
		l.head = &h
	}
	return nil
}

// verifyHead is the head as verify has it.
func (l *loaded) verifyHead() *verify.Head {
	if l.head == nil {
		return nil
	}
	h := l.head
	return &verify.Head{RadiusMM: h.Radius, StandoffMM: h.Standoff, GapMM: h.Gap, Boxes: h.Boxes}
}

// tellHead says what the clearance of the head was held to, or that it was not
// checked: then how near the axis comes to the surface, as the run has put it.
func tellHead(w io.Writer, l *loaded, near string) {
	if l.head == nil {
		fmt.Fprintf(w, "sagitta: head clearance not checked: it takes %s; %s\n", strings.Join(l.headless, ", and "), near)
		if l.boxes != nil {
			fmt.Fprintf(w, "sagitta: caution: the %s of --keep-out cannot be kept clear of without these fields\n", boxCount(len(l.boxes)))
		}
		return
	}
	h := l.head
	boxes := ""
	if len(h.Boxes) > 0 {
		boxes = ", and over " + boxCount(len(h.Boxes))
	}
	fmt.Fprintf(w, "sagitta: the head's tip, %s mm over best focus, keeps %s mm over what stands within %s mm of the beam%s\n",
		short(h.Standoff), short(h.Gap), short(h.Radius), boxes)
}

func boxCount(n int) string {
	if n == 1 {
		return "1 box"
	}
	return fmt.Sprintf("%d boxes", n)
}

// nearText says how near the axis comes to the surface under the beam against
// best focus, minus nearer; bound tells that it may not come as near.
func nearText(away float64, bound bool, x, y float64, line int) string {
	at, most, least := fmt.Sprintf("at X%.3f Y%.3f, line %d", x, y, line), "", ""
	if bound {
		most, least = "at most ", "at least "
	}
	switch {
	case math.Abs(away) < 0.0005:
		return "its axis comes no nearer to the surface under the beam than at best focus"
	case away > 0:
		return fmt.Sprintf("its axis stays %s%s mm further from the surface under the beam than at best focus, %s", least, mm(away), at)
	}
	return fmt.Sprintf("its axis comes %s%s mm nearer to the surface under the beam than at best focus, %s", most, mm(-away), at)
}
