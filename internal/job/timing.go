package job

import (
	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/motion"
	"sagitta/internal/record"
	"sagitta/internal/timing"
)

// cornerMM is corner_mm where the profile has none, nor speed_step_mm_s: as near as that
// controllers stay to corners by default (common practice, no source).
const cornerMM = 0.01

// Timing is what programs are timed for on a machine with inertia, that reads them so; nil
// where no acceleration is known, and times are by feeds alone.
func Timing(m *record.Machine, config machine.Config) *timing.Bench {
	return timing.On(&bench.Bench{Machine: config, StopsAtBeam: m.StopsAtBeam, Inertia: limits(m)})
}

// limits are what the axes of a machine can do, nil where no acceleration is known.
func limits(m *record.Machine) *motion.Limits {
	if m.AccelMMS2 == nil {
		return nil
	}
	l := motion.Limits{
		Accel:     motion.Vector{*m.AccelMMS2, *m.AccelMMS2, record.Known(m.ZAccelMMS2)},
		Speed:     motion.Vector{2: record.Known(m.ZRateMMMin) / 60},
		CornerMM:  cornerMM,
		LinesPerS: record.Known(m.LinesPerS),
	}
	if m.CornerMM != nil {
		l.CornerMM = *m.CornerMM
	}
	if m.SpeedStepMMS != nil || m.ZSpeedStepMMS != nil {
		step := record.Known(m.SpeedStepMMS)
		l.Step = motion.Vector{step, step, record.Known(m.ZSpeedStepMMS)}
	}
	return &l
}
