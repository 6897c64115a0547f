package acoustic

import (
	"fmt"
	"math"
)

// The bounds from which on a remark is made. Common practice or counted on simulated recordings.
const (
	weakDB       = 9.0
	missedShare  = 0.05
	clippedShare = 1e-4
	humShare     = 4.0 // the sound below the watch's voice over that within it, in power
	shortS       = 8.0
	stopsS       = 3.0
	driftDeg     = 6.0
	knockShare   = 0.005
)

// notes remarks on the quality of what was heard.
func (g *gathered) notes(r *Result, f *front) []Note {
	var notes []Note
	add := func(code NoteCode, format string, args ...any) {
		notes = append(notes, Note{code, fmt.Sprintf(format, args...)})
	}
	if r.SNRdB < weakDB {
		add(NoteWeak, "The watch is only %.0f dB louder than the room: a microphone on the movement holder or a quieter "+
			"room would help.", r.SNRdB)
	}
	if share := float64(f.clipped) / float64(max(1, f.samples)); share > clippedShare {
		add(NoteClipped, "%.2g %% of the sound is clipped: turn the input down.", 100*share)
	}
	if f.bandEnergy > 0 && (f.rawEnergy-f.bandEnergy)/f.bandEnergy > humShare {
		add(NoteHum, "There is much hum or rumble below the watch's voice, as of the mains or of traffic.")
	}
	if float64(g.knocked) > knockShare*float64(r.BeatsUsed+r.BeatsMissed) {
		add(NoteKnocks, "%s drowned in knocks or other sounds and left out.", plural(g.knocked, "beat was", "beats were"))
	}
	if g.other > 0 {
		add(NoteSecondWatch, "A second watch is in the room, of about %.0f beats an hour: carry it away.", g.other)
	}
	if g.quartz {
		add(NoteQuartz, "A quartz clock is in the room: its pulses were kept out of the figures.")
	}
	if total := r.BeatsUsed + r.BeatsMissed; float64(r.BeatsMissed) > missedShare*float64(total) {
		add(NoteMissed, "%d of %d beats were not heard.", r.BeatsMissed, total)
	}
	if r.EndS < r.Seconds-math.Max(stopsS, 12*3600/r.BeatsPerHour) {
		add(NoteStops, "The watch stopped, or could no longer be heard, %.1f s after the start.", r.EndS)
	}
	g.channelNotes(r, add)
	if heard := r.EndS - r.StartS; heard < shortS {
		add(NoteShort, "Only %.0f s of the watch were heard.", heard)
	}
	if !r.BeatsPerHourStated && math.Abs(nearestUsual(r.BeatsPerHour)-r.BeatsPerHour) > 0.5 {
		add(NoteOddBeat, "%.0f beats per hour is none of the usual: if the calibre has another figure, state it, as the "+
			"rate follows from it.", r.BeatsPerHour)
	}
	if 2*g.looped > len(g.pieces) || r.BeatScatterUs < evenUs && r.BeatsUsed >= evenBeats {
		add(NoteLoop, "The beats are evener than a watch’s, each like one before it: this may be a loop of sound, or a machine.")
	}
	if share := float64(f.zeros) / float64(max(1, f.samples)); share > 0.02 && f.zeros > int64(g.rateHz/2) {
		add(NoteSilence, "%.0f %% of the recording is digital silence.", 100*share)
	}
	return append(notes, g.driftNote(r)...)
}

// channelNotes remarks on what lay between the watch and here, and on what can't be told for it.
func (g *gathered) channelNotes(r *Result, add func(code NoteCode, format string, args ...any)) {
	c := g.channel
	cause := "does not stand out of the noise"
	switch {
	case c.narrow:
		cause = "lies beyond the band"
		add(NoteNarrow, "The band ends at %.1f kHz, below most of a watch’s sounds: what is left tells the rate. State the beats "+
			"per hour, for one swing in two may be lost.", c.edgeHz/1000)
	case c.coded:
		cause = "can’t be told from what the codec lets ring before a sound"
		add(NoteCodec, "The band ends sharply at %.1f kHz, as a compressed file’s does: amplitude and beat error are less certain.",
			c.edgeHz/1000)
	}
	if c.echoes {
		if !c.narrow && !c.coded {
			cause = "is covered by echoes"
		}
		add(NoteEchoes, "The room echoes: a microphone nearer to the watch hears more of it.")
	}
	if c.rides {
		add(NoteRiding, "The recorder rides the gain: turn its automatic gain off, where it can be.")
	}
	if m := g.manner(); m != asLever {
		add(NoteOther, "%s", mannerText[m])
		return
	}
	if !r.BeatsPerHourStated && 2*r.BeatsPerHour <= greatestBeatsPerHour && 2*g.twins > r.BeatsUsed {
		add(NoteOther, twinsText, r.BeatsPerHour, 2*r.BeatsPerHour)
	}
	if r.Amplitude == nil {
		add(NoteNoUnlocking, "The unlocking %s: no amplitude, and a drift of it may hide in the rate.", cause)
	}
	if r.BeatError == nil {
		add(NoteNoDrop, "Which of a beat’s sounds is its drop can’t be told: no beat error.")
	}
}

// driftNote remarks on an amplitude that moved.
func (g *gathered) driftNote(r *Result) []Note {
	var lifts []float64
	for _, b := range r.Beats {
		if b.Used && b.LiftMs > 0 {
			lifts = append(lifts, b.LiftMs*1e-3)
		}
	}
	if r.Amplitude == nil || len(lifts) < 24 {
		return nil
	}
	part := len(lifts) / 6
	start := g.amplitude(median(append([]float64(nil), lifts[:part]...)), 0)
	end := g.amplitude(median(append([]float64(nil), lifts[len(lifts)-part:]...)), 0)
	change := end.Value - start.Value
	if math.Abs(change) < driftDeg || math.Abs(change) < 2*r.Amplitude.StdUncertainty {
		return nil
	}
	return []Note{{NoteDrift, fmt.Sprintf("The amplitude went from %.0f° to %.0f° in the course of the recording.",
		start.Value, end.Value)}}
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
