package machine

// once does the G words that count on their own line only.
func (ip *Interpreter) once(l *line, m *Move) error {
	code, word, axes := l.Codes[NonModal], l.word(l.G[NonModal]), l.Axes()
	if axes != 0 {
		if err := l.checkUnknown(); err != nil {
			return err
		}
	}
	if code == 100 {
		if ip.moved {
			return l.b.Unsupported(word.Start, "G10 after the first motion is not supported", oneOffset)
		}
		return nil
	}
	if centre := l.centre(); centre != 0 {
		return l.notArc(centre)
	}
	if mode := l.G[MotionMode]; code != 530 && axes != 0 && mode != 0 && l.Codes[MotionMode] != noMotionCode {
		// RS274 3.5 forbids two words that both want the axes.
		return l.b.Malformed(l.word(mode).Start, l.onceName()+" and a motion on one line", "")
	}
	if axes == 0 && (code == 280 || code == 300) {
		axes = allAxes
	}
	switch {
	case code == 920:
		return ip.setOffset(l)
	case axes != 0 && (code == 280 || code == 300 || code == 530):
		return ip.home(l, m, axes)
	case axes != 0:
		return l.b.Unsupported(l.word(l.first()).Start, l.onceName()+" and a motion on one line are not supported",
			"put them on two lines")
	case code == 921:
		ip.setShifts(shift{}, shift{})
	case code == 922:
		ip.setShifts(shift{}, ip.stored)
	case code == 923:
		ip.setShifts(ip.stored, ip.stored)
	}
	return nil
}

// onceName is the G word that counts on its own line only.
func (l *line) onceName() string { return "G" + l.Codes[NonModal].Number().String() }

// home fills a travel to a place that only the machine knows: the stored one
// of G28 and G30 (RS274 3.5.11), or one in machine coordinates (G53, RS274
// 3.5.13).
func (ip *Interpreter) home(l *line, m *Move, axes AxisSet) error {
	word := l.word(l.G[NonModal])
	code := int8(l.Codes[NonModal] / 10)
	m.Rapid = true
	if code == 53 {
		if ip.st.Motion != 0 && ip.st.Motion != 1 {
			return l.b.Malformed(word.Start, "G53 without G0 or G1", "")
		}
		m.Rapid = ip.st.Motion == 0
		if !m.Rapid {
			if err := ip.checkFeed(l); err != nil {
				return err
			}
		}
	}
	if ip.burns(m.Rapid) {
		return l.b.Unsupported(word.Start, "a burn by "+l.onceName()+" is not supported: its path is not known",
			"put the beam off before it")
	}
	if err := l.tooFar(); err != nil {
		return err
	}
	m.Kind, m.Lost = Line, axes
	m.Home = Home{G: code, Named: l.Axes()}
	for i, w := range l.axisWords() {
		if w != nil {
			*m.Home.Words.axes()[i] = ip.scale().length(w.Num).mm()
		}
	}
	m.FromUnknown = axes&axesXY != 0 || !(ip.st.XKnown && ip.st.YKnown)
	m.ZUnknown = axes&AxisZ != 0 || !ip.st.ZKnown
	ip.time(m, 0)
	for i, known := range ip.st.known() {
		if axes&(1<<i) != 0 {
			*known = false
			ip.lost[i] = cause{m.Home.G, l.b.Line}
		}
	}
	// From here on a relative move does not tell where the head is.
	ip.placed = ip.placed || axes&axesXY != 0
	return nil
}
