package zone_test

import (
	"errors"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/zone"
)

var (
	remark   = regexp.MustCompile(`\([^)]*\)|;.*|\s|\*[0-9]+\s*$`)
	switcher = regexp.MustCompile(`(T)[-+.0-9]|M\+?0*([0-9]+)`)
)

// linesBetween are the lines between burns that only one of several programs could have,
// read off the text, and whether one of them ends a program, or burns.
func linesBetween(text string, c machine.Config, harmless []int) (list []int, ends, burn bool) {
	var burns []int
	ip, r := machine.New(c), program.NewReader(strings.NewReader(text), "x")
	for {
		b, err := r.Next()
		if err != nil {
			break
		}
		var m machine.Move
		if ip.Step(b, &m) != nil {
			break // it is refused for that
		}
		if m.Burn {
			burns = append(burns, b.Line)
		}
	}
	if len(burns) == 0 {
		return nil, false, false
	}
	lines, last := strings.Split(text, "\n"), burns[len(burns)-1]
	for n := burns[0]; n <= last; n++ {
		line := strings.ToUpper(remark.ReplaceAllString(lines[n-1], ""))
		for _, w := range switcher.FindAllStringSubmatch(line, -1) {
			m, _ := strconv.Atoi(w[2])
			stays := slices.Contains([]int{0, 1, 2, 6, 30, 48, 49, 60, 64, 66, 117}, m) && !slices.Contains(harmless, m)
			if n == last && (m == 2 || m == 30) {
				continue
			}
			if w[1] == "T" || w[2] != "" && stays {
				list, ends, burn = append(list, n), ends || m == 2 || m == 30, burn || slices.Contains(burns, n)
				break
			}
		}
	}
	return list, ends, burn
}

// mayDivide holds the refusal of a job, or its plan, to what stands between its burns.
// Of one that is refused it gives the text without those lines, "" where that would be
// another job.
func mayDivide(text string, p *zone.Plan, err error, opt zone.Options) (without, wrong string) {
	list, ends, burn := linesBetween(text, opt.Machine, opt.Harmless)
	var between *zone.BetweenError
	switch refused := errors.As(err, &between); {
	case !refused && err == nil && len(list) > 0 && (len(p.Zones) > 1 || opt.Pause):
		return text, "is divided, with what only one program could have on line " + strconv.Itoa(list[0])
	case !refused:
		return text, ""
	case len(list) == 0 || diag.As(err).Place.Line != list[0]:
		return text, "is refused elsewhere"
	case ends || burn:
		return "", ""
	}
	lines := strings.SplitAfter(text, "\n")
	for _, n := range list {
		lines[n-1] = lines[n-1][len(strings.TrimRight(lines[n-1], "\r\n")):]
	}
	return strings.Join(lines, ""), ""
}
