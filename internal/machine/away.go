package machine

import "sagitta/internal/program"

// axes are those with a word on the line.
func (l *line) axes() (a Axes) {
	for i, w := range [...]*program.Word{l.x, l.y, l.z} {
		if w != nil {
			a |= 1 << i
		}
	}
	return a
}

// once does the G words that count on their own line only.
func (ip *Interpreter) once(l *line, m *Move) error {
	code, _ := l.once.Num.At(1)
	axes := l.axes()
	name := "G" + l.once.Num.Trim().String()
	if axes != 0 && l.unknown != nil {
		return unsupported(l.b, l.unknown, "an unknown M word with "+string(l.first().Letter)+
			" is not supported", "")
	}
	if code.Mant == 100 {
		if ip.moved {
			return unsupported(l.b, l.once, "G10 after the first motion is not supported", oneOffset)
		}
		return nil
	}
	if w := firstOf(l.i, l.j, l.k, l.r); w != nil {
		return malformed(l.b, w, "I, J, K and R belong to an arc (G2 or G3)", "")
	}
	if code.Mant != 530 && axes != 0 && l.motionWord != nil && l.motion != noMotion {
		// RS274 3.5 forbids two words that both want the axes.
		return malformed(l.b, l.motionWord, name+" and a motion on one line", "")
	}
	switch code.Mant {
	case 280, 300:
		if axes == 0 {
			return ip.away(l, m, allAxes)
		}
		return ip.away(l, m, axes)
	case 530:
		if axes == 0 {
			return nil
		}
		return ip.away(l, m, axes)
	case 920:
		return ip.setOffset(l)
	}
	if axes != 0 {
		return unsupported(l.b, l.first(), name+" and a motion on one line are not supported",
			"put them on two lines")
	}
	switch code.Mant {
	case 921:
		ip.forget()
	case 922:
		ip.suspend()
	case 923:
		ip.restore()
	}
	return nil
}

// away fills a travel to a place that only the machine knows: the stored one
// of G28 and G30 (RS274 3.5.11), or one in machine coordinates (G53, RS274
// 3.5.13).
func (ip *Interpreter) away(l *line, m *Move, axes Axes) error {
	code, _ := l.once.Num.At(0)
	name := "G" + code.String()
	m.Rapid = true
	if code.Mant == 53 {
		if ip.motion != 0 && ip.motion != 1 {
			return malformed(l.b, l.once, "G53 without G0 or G1", "")
		}
		m.Rapid = ip.motion == 0
		if !m.Rapid {
			if err := ip.checkFeed(l); err != nil {
				return err
			}
		}
	}
	if beam := ip.beam(); !m.Rapid && beam != Off || m.Rapid && beam == On && ip.cfg.RapidsFire {
		return unsupported(l.b, l.once, "a burn by "+name+" is not supported: its path is not known",
			"put the beam off before it")
	}
	if w := l.tooFar(); w != nil {
		return tooFar(l, w)
	}
	m.Kind, m.Lost = Line, axes
	m.Away = Away{G: int8(code.Mant), Named: l.axes()}
	for i, w := range [...]*program.Word{l.x, l.y, l.z} {
		if w != nil {
			*[...]*float64{&m.Away.Words.X, &m.Away.Words.Y, &m.Away.Words.Z}[i] = length(w.Num, ip.scale()).mm()
		}
	}
	m.FromUnknown = axes&axesXY != 0 || !(ip.xKnown && ip.yKnown)
	m.ZUnknown = axes&AxisZ != 0 || !ip.zKnown
	ip.time(m, 0)
	for i, known := range [...]*bool{&ip.xKnown, &ip.yKnown, &ip.zKnown} {
		if axes&(1<<i) != 0 {
			*known = false
			ip.lost[i] = cause{m.Away.G, l.b.Line}
		}
	}
	// From here on a relative move does not tell where the head is.
	ip.placed = ip.placed || axes&axesXY != 0
	return nil
}

// tooFar refuses a coordinate beyond farthestMM.
func tooFar(l *line, w *program.Word) error {
	return unsupported(l.b, w, "a coordinate beyond a thousand kilometres is not supported", "")
}
