package acoustic

// A recorder that rides the gain turns it down at every drop and lets it rise until the next: the room's noise is lower
// after a drop than before the next unlocking. Echoes make it louder there.
const (
	// rodeFromS and rodeToS are the time after a drop, when the watch's own sounds are over, and restFromS and restToS that
	// before the next drop, ahead of its unlocking, in which the noise is taken.
	rodeFromS, rodeToS  = 0.025, 0.040
	restFromS, restToS  = 0.036, 0.028
	ridingShare         = 0.85
	leastRidden         = 40
	leastRestBeforeNext = 0.012
)

// riding reports whether the noise after the drops is lower than before them.
func (b *block) riding(h *heardBlock) bool {
	if h.periodSamples/b.rateHz < rodeToS+restFromS+leastRestBeforeNext {
		return false
	}
	var after, before []float64
	for i := range h.swings {
		s := &h.swings[i]
		for k, at := range s.drop {
			if !s.heard[k] {
				continue
			}
			t := at / b.rateHz
			if e, ok := b.meanBin(t+rodeFromS, t+rodeToS); ok {
				after = append(after, e)
			}
			if e, ok := b.meanBin(t-restFromS, t-restToS); ok {
				before = append(before, e)
			}
		}
	}
	return min(len(after), len(before)) >= leastRidden && median(after) < ridingShare*median(before)
}

// meanBin returns the mean energy of the bins between two times.
func (b *block) meanBin(fromS, toS float64) (float64, bool) {
	from, to := int(fromS*b.binHz), int(toS*b.binHz)
	if from < 0 || to > len(b.bins) || to <= from {
		return 0, false
	}
	sum := 0.0
	for _, e := range b.bins[from:to] {
		sum += float64(e)
	}
	return sum / float64(to-from), true
}
