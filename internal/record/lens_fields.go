package record

// Field explains one field of a settings file.
type Field struct {
	Name    string // as in the file; its end is the unit
	Unit    string // empty for a pure number or text
	Default string // as in the file; empty where unset is a meaning of its own
	Example string // a value as in the file
	Meaning string // one line
}

// LensFields explains every field of a lens record, in the order of writing.
func LensFields() []Field {
	return []Field{
		{"name", "", "", `"short"`, "what the lens is called; unset: the file's name"},
		{"focal_length_mm", "mm", "", "38.1", "focal length"},
		{"wavelength_nm", "nm", "", "10600", "wavelength of the beam, 100 to 20000"},
		{"waist_um", "µm", "", "90", "1/e² diameter of the beam at best focus"},
		{"rayleigh_mm", "mm", "", "0.46", "distance from best focus at which that diameter has grown by √2"},
		{"m2", "", "", "1.3", "beam quality M², 1 for the ideal beam"},
		{"depth_mm", "mm", "", "[-1.5, 1.5]", "what was still sharp: nearer below zero, further above; wins over the beam's fields"},
		{"tested_on", "", "", `"birch plywood"`, "the stock on which depth_mm was seen"},
		{"tested_power_pct", "%", "", "30", "the power at which it was seen, in percent of the greatest"},
		{"tested_feed_mm_min", "mm/min", "", "3000", "the feed at which it was seen"},
		{"depth_error_mm", "mm", "", "0.25", "how far either side of depth_mm may be off; of a ladder half a step at best"},
		{"focus_shift_mm", "mm", "", "0.5", "where best focus lay against the bench's zero when depth_mm was seen, + further"},
		{"usual_defocus_mm", "mm", "", "0.8", "the defocus that tested_on is usually marked with, + further; the default of --defocus"},
		{"smallest_detail_mm", "mm", "", "0.5", "the smallest detail that stays legible"},
		{"focus_height_mm", "mm", "0", "0", "how much further from the stock this lens stands at best focus than the bench's reference lens"},
		{"standoff_mm", "mm", "", "6", "tip of the head to the stock at best focus, with this lens"},
	}
}
