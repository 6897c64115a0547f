package chart

// VoicesFrame says where a drawing of averaged sounds has its time axis and its two lanes, in user units, so that marks
// can be laid over it.
type VoicesFrame struct {
	FromX, ToX    float64 // of the time axis
	LowMs, HighMs float64 // at its ends
	// Top and Bottom are the lanes of tick and tock.
	Top, Bottom [2]float64
}

// Frame returns the frame of the drawing; ok is false where there is none because nothing was heard.
func (c Voices) Frame() (f VoicesFrame, ok bool) {
	if !drawable(c.Result.Voices[0]) && !drawable(c.Result.Voices[1]) {
		return VoicesFrame{}, false
	}
	l := c.layout()
	f = VoicesFrame{FromX: l.x.from, ToX: l.x.to, LowMs: l.x.low, HighMs: l.x.high}
	for swing, y := range l.y {
		f.Top[swing], f.Bottom[swing] = y.to, y.from
	}
	return f, true
}
