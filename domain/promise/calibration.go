package promise

import "ledgerwheel/domain/share"

// Calibrated is how many of the days that were said with a chance were kept.
type Calibrated struct {
	FromPercent, ToPercent int // the chance that was said; the same where one was
	share.Share
}

// Calibration counts, for each of Levels, how many of the days that would have been said were kept.
func Calibration(tries []Try) []Calibrated {
	list := make([]Calibrated, len(Levels))
	for k, level := range Levels {
		list[k] = Calibrated{FromPercent: Percent(level), ToPercent: Percent(level)}
		for _, t := range tries {
			list[k].count(t.At[k])
		}
	}
	return list
}

func (c *Calibrated) count(s Said) {
	if !s.Decided {
		return
	}
	c.N++
	if s.Kept {
		c.K++
	}
}

// Made is a promise that was made when a watch was taken in, with the chance that was said then.
type Made struct {
	Percent int
	Said
}

// MadeWith counts promises that were made by the chance that was said: below half, and up to nine in ten.
func MadeWith(list []Made) []Calibrated {
	bands := []Calibrated{{FromPercent: 0, ToPercent: 49}, {FromPercent: 50, ToPercent: 69}, {FromPercent: 70, ToPercent: 89},
		{FromPercent: 90, ToPercent: 100}}
	for _, m := range list {
		for i := range bands {
			if m.Percent >= bands[i].FromPercent && m.Percent <= bands[i].ToPercent {
				bands[i].count(m.Said)
			}
		}
	}
	return bands
}

// CountOf counts the days that were said with one chance.
func CountOf(percent int, list []Said) Calibrated {
	c := Calibrated{FromPercent: percent, ToPercent: percent}
	for _, s := range list {
		c.count(s)
	}
	return c
}
