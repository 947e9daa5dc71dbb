package say

import (
	"sagitta/internal/phrase"
	"sagitta/internal/timing"
)

// Timing is what a program takes on a bench with inertia, beside the original that it was
// made from, nil for none.
type Timing struct{ Made, Original *timing.Times }

// leastShown is the least part of a burned length or of a feed that is said: less is what
// rounding does.
const leastShown = 0.0005

// Lines say what a program takes that is called name; none where nothing is known of inertia.
func (t *Timing) Lines(name string) []string {
	if t == nil {
		return nil
	}
	share := func(part float64) string {
		if part < leastShown {
			return ""
		}
		return phrase.Digits(100*part, 2) + " %"
	}
	with := of{"Name": name, "Made": t.Made, "Original": t.Original, "Slow": share(t.Made.SlowPart()), "Dark": share(t.Made.DarkPart()), "Slowed": ""}
	if t.Original != nil && t.Made.SlowedShare < 1-leastShown {
		with["Slowed"] = phrase.Digits(100*t.Made.SlowedShare, 3) + " %" // of what is near to all, too
	}
	return texts.Lines("timing.txt", with)
}

// figures are those of inertia; none where nothing is known of it.
func (t *Timing) figures() figures {
	if t == nil {
		return nil
	}
	var list figures
	if t.Original != nil {
		list = figures{
			{"slow_part", t.Made.SlowPart()},
			{"slow_part_dark", t.Made.DarkPart()},
			{"slowed_most", figures{{"part_of_original", t.Made.SlowedShare}, {"line", t.Made.SlowedLine}}},
		}
	}
	return append(list, figures{
		{"z_speed_step_mm_s", t.Made.ZStep},
		{"z_burns", t.Made.ZBurns},
		{"slowest", figures{{"part_of_feed", t.Made.SlowestShare}, {"line", t.Made.SlowestLine}}},
	}...)
}
