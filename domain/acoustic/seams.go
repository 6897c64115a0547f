package acoustic

import (
	"fmt"
	"math"
	"slices"
)

// Where a recorder or a browser drops a buffer, the beats after it come early: by what is missing, less whole beats, which
// nobody can tell. The listener follows the beats on one side then, and takes the other for a watch that stopped. The file is
// listened to again in short windows, each by itself; where the beats of one don't lie where those of the last lead, the
// rest of a beat is put in as silence, and the whole is heard once more.

// The windows, and what their beats may be off by, common practice: clean windows of simulated watches agree to 0.2 ms, and a
// buffer of 64 samples lasts 1.3 ms.
const (
	seamWindowS = 5.0
	seamHopS    = 2.5
	seamLeastS  = 1e-3
	seamDrift   = 3e-5 // of the time between two windows: how far their own rates may lead
	seamEdgeS   = 1.0  // of a window without beats that still counts as clean
	mostSeams   = 50
)

// NoteSoundLost: sound is missing within the recording.
const NoteSoundLost NoteCode = "sound-lost"

// Seam is a place where sound is missing.
type Seam struct {
	Sample int64   // before which it is missing
	LostS  float64 // how much, less whole beats
}

// Interrupted reports whether sound may be missing: the watch seems to begin late, to stop, or to leave out beats.
func Interrupted(r Result) bool {
	edge := math.Max(stopsS, 12*3600/r.BeatsPerHour)
	return r.StartS > edge || r.EndS < r.Seconds-edge || float64(r.BeatsMissed) > missedShare*float64(r.BeatsUsed+r.BeatsMissed)
}

// SeamFinder finds where sound is missing in what is written to it.
type SeamFinder struct {
	rateHz   float64
	settings Settings
	held     []float32 // not yet heard in every window that it belongs to
	at       int64     // number of the first sample held
	grids    []seamGrid
}

// seamGrid is the beats of one window, times in seconds from the start of the sound.
type seamGrid struct {
	fromS, toS     float64 // the window
	startS, endS   float64 // the first and the last beat
	perHour        float64
	centreS, beatS float64 // an instant of the grid near the middle, the mean of both swings; its period
	clean          bool    // the beats go through the window
}

// NewSeamFinder returns a finder for sound of so many samples a second; the settings are those of the listener. The error is
// that of NewListener.
func NewSeamFinder(rateHz float64, s Settings) (*SeamFinder, error) {
	if _, err := NewListener(rateHz, s); err != nil {
		return nil, err
	}
	return &SeamFinder{rateHz: rateHz, settings: s}, nil
}

// Write takes the next samples.
func (f *SeamFinder) Write(samples []float32) {
	f.held = append(f.held, samples...)
	window, hop := int(seamWindowS*f.rateHz), int(seamHopS*f.rateHz)
	for len(f.held) >= window {
		f.hear(f.held[:window])
		f.held = append(f.held[:0], f.held[hop:]...)
		f.at += int64(hop)
	}
}

func (f *SeamFinder) hear(window []float32) {
	l, err := NewListener(f.rateHz, f.settings)
	if err != nil {
		return
	}
	l.Write(window)
	if r, err := l.Result(); err == nil {
		if g, ok := gridOf(r, float64(f.at)/f.rateHz); ok {
			f.grids = append(f.grids, g)
		}
	}
}

// gridOf fits a line to the beats of each swing that were used, both of one slope, and takes the mean of the two.
func gridOf(r Result, fromS float64) (g seamGrid, ok bool) {
	var n, t [2][]float64
	for _, b := range r.Beats {
		if b.Used {
			n[b.Swing()], t[b.Swing()] = append(n[b.Swing()], float64(b.Number)), append(t[b.Swing()], b.TimeS)
		}
	}
	var sxx, sxy float64
	var mn, mt [2]float64
	for swing := range n {
		if len(n[swing]) < 5 {
			return g, false
		}
		mn[swing], mt[swing] = seamMean(n[swing]), seamMean(t[swing])
		for i, x := range n[swing] {
			sxx += (x - mn[swing]) * (x - mn[swing])
			sxy += (x - mn[swing]) * (t[swing][i] - mt[swing])
		}
	}
	if !(sxx > 0) || !(sxy > 0) {
		return g, false
	}
	g.beatS = sxy / sxx
	middle := math.Round((mn[0] + mn[1]) / 2)
	g.centreS = fromS + (mt[0]+mt[1])/2 + g.beatS*(middle-(mn[0]+mn[1])/2)
	g.fromS, g.toS, g.startS, g.endS, g.perHour = fromS, fromS+r.Seconds, fromS+r.StartS, fromS+r.EndS, r.BeatsPerHour
	g.clean = r.StartS < seamEdgeS && r.EndS > r.Seconds-seamEdgeS &&
		float64(r.BeatsMissed) <= missedShare*2*float64(r.BeatsUsed+r.BeatsMissed)
	return g, true
}

func seamMean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// Seams returns the places found, in order; none where the windows tell too little.
func (f *SeamFinder) Seams() []Seam {
	grids := f.alike()
	var seams []Seam
	last := -1
	for i, g := range grids {
		if !g.clean {
			continue
		}
		if last >= 0 {
			if lostS, apart := grids[last].lostBefore(g); apart {
				seams = append(seams, Seam{Sample: int64(seamBetween(grids[last:i+1]) * f.rateHz), LostS: lostS})
			}
		}
		last = i
	}
	if len(seams) > mostSeams {
		return nil
	}
	return seams
}

// alike drops the windows in which another beat was heard than in most.
func (f *SeamFinder) alike() []seamGrid {
	count := map[float64]int{}
	most := 0.0
	for _, g := range f.grids {
		if count[g.perHour]++; count[g.perHour] > count[most] {
			most = g.perHour
		}
	}
	return slices.DeleteFunc(slices.Clone(f.grids), func(g seamGrid) bool { return g.perHour != most })
}

// lostBefore is what is missing between two windows, less whole beats; apart is false where their beats agree.
func (g seamGrid) lostBefore(next seamGrid) (lostS float64, apart bool) {
	beatS := (g.beatS + next.beatS) / 2
	off := math.Remainder(next.centreS-g.centreS, beatS)
	if math.Abs(off) < seamLeastS+seamDrift*(next.centreS-g.centreS) {
		return 0, false
	}
	if off < 0 {
		return -off, true
	}
	return beatS - off, true
}

// seamBetween is where between two clean windows the beats part: where those of a window in between begin or end, or else
// in the middle of what both windows leave open.
func seamBetween(grids []seamGrid) float64 {
	first, last := grids[0], grids[len(grids)-1]
	half := first.beatS / 2
	for _, g := range grids[1 : len(grids)-1] {
		if g.endS < g.toS-seamEdgeS {
			return g.endS + half
		}
		if g.startS > g.fromS+seamEdgeS {
			return g.startS - half
		}
	}
	if last.fromS < first.toS {
		return math.Max(first.endS, last.startS) + half
	}
	return (first.endS + last.startS) / 2
}

// Mender puts silence where sound is missing.
type Mender struct {
	seams  []Seam
	rateHz float64
	at     int64
}

// NewMender returns a mender of sound of so many samples a second.
func NewMender(rateHz float64, seams []Seam) *Mender { return &Mender{seams: seams, rateHz: rateHz} }

// Write hands the next samples on, and silence at the seams among them.
func (m *Mender) Write(samples []float32, on func([]float32)) {
	for len(m.seams) > 0 && m.seams[0].Sample < m.at+int64(len(samples)) {
		n := int(max(0, m.seams[0].Sample-m.at))
		if n > 0 {
			on(samples[:n])
		}
		on(make([]float32, int(math.Round(m.seams[0].LostS*m.rateHz))))
		samples, m.at, m.seams = samples[n:], m.at+int64(n), m.seams[1:]
	}
	if len(samples) > 0 {
		on(samples)
	}
	m.at += int64(len(samples))
}

// Rejoined is what is heard once the sound is joined again: r is what was heard before, again what is heard with silence at
// the seams. Where joining helped it is the latter with a remark, and else r, of which it is not said that the watch stopped
// if beats were heard on both sides of a seam.
func Rejoined(r, again Result, err error, rateHz float64, seams []Seam) Result {
	if len(seams) == 0 {
		return r
	}
	if err == nil && again.BeatsUsed > r.BeatsUsed {
		r = again
	}
	r.Notes = slices.DeleteFunc(slices.Clone(r.Notes), func(n Note) bool { return n.Code == NoteStops && stopsAtSeam(r, rateHz, seams) })
	r.Notes = append(r.Notes, lostNote(rateHz, seams))
	return r
}

// stopsAtSeam reports whether the beats end where sound is missing, and not with the watch.
func stopsAtSeam(r Result, rateHz float64, seams []Seam) bool {
	return slices.ContainsFunc(seams, func(s Seam) bool { return math.Abs(float64(s.Sample)/rateHz-r.EndS) < seamWindowS })
}

func lostNote(rateHz float64, seams []Seam) Note {
	total := 0.0
	for _, s := range seams {
		total += s.LostS
	}
	where := fmt.Sprintf("%.1f s after the start", float64(seams[0].Sample)/rateHz)
	if len(seams) > 1 {
		where = fmt.Sprintf("at %d places, the first %s", len(seams), where)
	}
	return Note{NoteSoundLost, fmt.Sprintf("Sound was lost %s: %.0f ms, or whole beats more. The watch went on, and its beats are "+
		"counted on both sides.", where, 1e3*total)}
}
