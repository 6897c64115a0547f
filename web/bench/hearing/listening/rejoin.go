package listening

import (
	"ledgerwheel/domain/acoustic"
)

// rejoining finds sound that was lost on the way to the page, which nothing counts: its beats step, and the watch seems to
// have stopped. See [acoustic.SeamFinder].
type rejoining struct {
	newEar   func() (Ear, error)
	settings acoustic.Settings
	looked   int // samples held when it was last looked for
	note     *acoustic.Note
}

// lookEveryS is how many seconds of sound must have come before it is looked for again.
const lookEveryS = 5

// rejoin looks for lost sound where the beats seem to stop or to be left out, and goes on with an ear that has silence in
// its place. It works on the sound that the take holds.
func (t *Take) rejoin(r acoustic.Result, err error) (acoustic.Result, error) {
	j := &t.rejoining
	due := len(t.sound)-j.looked >= int(lookEveryS*t.Source.SampleRateHz)
	if err == nil && acoustic.Interrupted(r) && due && t.end == 0 {
		j.looked = len(t.sound)
		r = t.joined(r)
	}
	if err == nil && j.note != nil {
		r.Notes = append([]acoustic.Note{*j.note}, r.Notes...)
	}
	return r, err
}

// joined is what is heard of the take's sound with silence at its seams; r where there are none.
func (t *Take) joined(r acoustic.Result) acoustic.Result {
	j, rateHz, sound := &t.rejoining, t.Source.SampleRateHz, t.held()
	finder, err := acoustic.NewSeamFinder(rateHz, j.settings)
	if err != nil {
		return r
	}
	finder.Write(sound)
	seams := finder.Seams()
	if len(seams) == 0 {
		return r
	}
	ear, err := j.newEar()
	if err != nil {
		return r
	}
	acoustic.NewMender(rateHz, seams).Write(sound, ear.Write)
	again, err := ear.Result()
	joined := acoustic.Rejoined(r, again, err, rateHz, seams)
	last := len(joined.Notes) - 1
	if err == nil && again.BeatsUsed > r.BeatsUsed {
		t.ear = ear
		j.note = &joined.Notes[last]
		joined.Notes = joined.Notes[:last] // it is put with every result from now on
	}
	return joined
}

// held is the sound that the take holds, in its order, of full scale ±1.
func (t *Take) held() []float32 {
	samples := make([]float32, len(t.sound))
	for i := range samples {
		samples[i] = float32(t.sound[(t.end+i)%len(t.sound)]) / 32767
	}
	return samples
}
