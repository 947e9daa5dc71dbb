package machine

import (
	"sagitta/internal/program"
)

// Group is a modal group of G words (RS274 3.4, table 4), or NonModal, that of
// the words which count on their own line only. A line may have one word of
// each.
type Group uint8

// The groups.
const (
	NonModal Group = iota
	MotionMode
	Plane
	Distance
	FeedMode
	Units
	Cutter
	ToolLength
	WorkOffset
	PathMode
	ArcMode
	Groups // how many there are
)

// GroupSet is a set of groups.
type GroupSet uint16

// Has reports whether it has the group.
func (s GroupSet) Has(g Group) bool { return s>>g&1 != 0 }

// codes are the G words of each group.
var codes = [Groups][]GCode{
	NonModal:   {40, 100, 280, 300, 530, 920, 921, 922, 923},
	MotionMode: {0, 10, 20, 30, noMotionCode},
	Plane:      {170},
	Distance:   {900, 910},
	FeedMode:   {930, 940},
	Units:      {200, 210},
	Cutter:     {400},
	ToolLength: {490},
	WorkOffset: {firstWork, 550, 560, 570, 580, 590, 591, 592, 593},
	PathMode:   {610, 611, 640},
	ArcMode:    {901, 911},
}

// noMotionCode is G80, which ends a motion mode.
const noMotionCode = 800

// GCode is a G word in tenths: 911 is G91.1.
type GCode int16

// Number returns the number behind G.
func (g GCode) Number() program.Number { return program.Number{Mant: int64(g), Dec: 1}.Trim() }
