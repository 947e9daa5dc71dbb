package corridor

// aheadPart is the part of a window that is only looked ahead at.
const aheadPart = 8

// Commit gives the last end of a move up to which a window of gates may be
// committed, what comes after them being unknown; 0 where the window is too
// short for that. With a rate, c must be able to come from anywhere to anywhere
// on the way behind it, swing mm further than the depth: what lies further ahead
// asks nothing of here. It reports whether the window is long enough for that.
func (s *Terms) Commit(gates []Gate, swing float64) (end int, ahead bool) {
	n := len(gates)
	end = moveEnd(gates, n-1-max(1, n/aheadPart)) // the last gate may still narrow
	if s.Rate <= 0 || end <= 0 {
		return max(0, end), true
	}
	need, seconds, k := (swing+s.Depth.Near+s.Depth.Far)/s.Rate, 0.0, n-1
	for ; k > 0 && seconds < need; k-- {
		seconds += gates[k].DT
	}
	if k = moveEnd(gates, k); k > 0 {
		return min(k, end), true
	}
	return end, false
}

// moveEnd is the last gate up to gate k that ends a move.
func moveEnd(gates []Gate, k int) int {
	for k > 0 && gates[k].S < 1 {
		k--
	}
	return k
}
