package record

// MachineFields explains every field of a machine profile, in the order of
// writing.
func MachineFields() []Field {
	return []Field{
		{"units", "", `"mm"`, `"in"`, `what a program means before its first G20 or G21: "mm" or "in"`},
		{"z_axis", "", `"Z"`, `"W"`, "the letter that moves the focus: Z, U, V, W or A"},
		{"z_plus", "", `"away"`, `"toward"`, `which way + takes the lens from the stock: "away" or "toward"`},
		{"z_moves", "", `"always"`, `"beam-off"`, `when Z may move: "always", "beam-off" (on travels only), "by-hand" (no Z is written)`},
		{"z_min_mm", "mm", "", "-20", "lowest Z that may be written; unset: no limit"},
		{"z_max_mm", "mm", "", "40", "highest Z that may be written; unset: no limit"},
		{"z_rate_mm_min", "mm/min", "", "600", "greatest speed of Z; unset: nothing limits it, and each run says so"},
		{"z_resolution_mm", "mm", "", "0.001", "smallest step of Z; unset: the last decimal written"},
		{"z_backlash_mm", "mm", "", "0.02", "lost motion of Z where it turns round; unset: none"},
		{"z_step_mm", "mm", "", "0.05", "one division of a hand crank"},
		{"focus_setting_mm", "mm", "", "0.1", "standard uncertainty of setting the focus by hand; unset: none"},
		{"rapid_mm_min", "mm/min", "6000", "6000", "speed of G0"},
		{"feed_counts_z", "", "true", "false", "whether F is the speed along X, Y and Z together, not over XY alone"},
		{"feed_max_mm_min", "mm/min", "", "12000", "greatest F that is written; unset: no limit"},
		{"decimals", "", "", "3", "decimals written in the profile's units, 0 to 6, two more or fewer in the other; unset: 3 in mm, 5 in inches"},
		{"line_max", "characters", "", "256", "longest line the controller takes; unset: no limit"},
		{"lines_per_s", "1/s", "", "500", "lines the controller takes in a second; unset: no limit"},
		{"numbered", "", "false", "true", "whether added lines carry N words"},
		{"beam_on", "", `["M3", "M4"]`, `["M3", "M4"]`, "words that let the beam fire"},
		{"beam_off", "", `["M5"]`, `["M5"]`, "words that stop it"},
		{"power_word", "", `"S"`, `"S"`, "the letter of the power"},
		{"s_max", "the power word's", "1000", "255", "full power"},
		{"power_follows_speed", "", `["M4"]`, `["M4"]`, "those of beam_on under which the controller scales power with speed"},
		{"rapids_fire", "", "false", "true", "whether G0 burns while the beam is on"},
		{"comments", "", "true", "false", "whether the controller takes comments"},
		{"head_radius_mm", "mm", "", "8", "radius of the head's tip, for its clearance over the stock; unset: not checked"},
		{"gap_min_mm", "mm", "", "1.5", "least gap that must stay between head and stock; unset: not checked"},
		{"probe_offset_mm", "mm", "[0, 0, 0]", "[12, 0, -3]", "where the probe's tip stands from the beam: X, Y, Z"},
		{"probe_feed_mm_min", "mm/min", "100", "100", "speed of probing"},
		{"probe_depth_mm", "mm", "10", "10", "how far below the expected surface a probe goes before it gives up"},
	}
}
