package report

import (
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Figure draws the job under its title and verdict: from above, along its path, and the
// shares of what it burns by defocus, and where it is known by speed. Frames are those of the pictures, in this order.
func (j *Job) Figure(by By, width Width) (*Picture, error) {
	var parts []*Picture
	for _, draw := range []func() (*Picture, error){
		func() (*Picture, error) { return j.Above(by, width) },
		func() (*Picture, error) { return j.Along(width) },
		func() (*Picture, error) { return j.Shares(width) },
		func() (*Picture, error) { return j.Speeds(width) },
	} {
		p, err := draw()
		if err != nil {
			return nil, err
		}
		if p == nil {
			continue
		}
		parts = append(parts, p)
	}
	wide := vg.Length(width) - 2*edge
	title, verdict := titled(j.Title, wide), titled(j.Verdict, wide)
	head := edge + titleLine*vg.Length(len(title)+len(verdict)) + edge
	high := head
	for _, p := range parts {
		high += p.height
	}
	return &Picture{vg.Length(width), high, func(c draw.Canvas) (frames []Frame) {
		top := draw.Crop(c, edge, -edge, 0, -edge)
		drawTitle(top, append(title, verdict...))
		line := c.Max.Y - head + edge/2
		c.StrokeLine2(borderStyle, c.Min.X+edge, line, c.Max.X-edge, line)
		from := head
		for _, p := range parts {
			part := c
			part.Max.Y = c.Max.Y - from
			part.Min.Y = part.Max.Y - p.height
			for _, f := range p.paint(part) {
				f.Top, f.Bottom = f.Top+from.Points(), f.Bottom+from.Points()
				frames = append(frames, f)
			}
			from += p.height
		}
		return frames
	}}, nil
}
