package listening

import (
	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/heard"
)

// unaided hears the beginning of a take once more, without the beats that were stated: near those alone another watch is
// not heard at all.
type unaided struct {
	ear           Ear // nil when no beats were stated, or once it is known
	rateHz        float64
	statedPerHour float64
	heard         int64   // samples
	look          int64   // how many until it is asked
	perHour       float64 // what was heard; 0 before
}

// The ear is asked after unaidedLookS seconds and again after as many more, until a watch was heard or
// [heard.UnaidedS] are over.
const unaidedLookS = 10

func (u *unaided) hear(samples []float32) {
	if u.ear == nil {
		return
	}
	u.ear.Write(samples)
	u.heard += int64(len(samples))
	if u.heard < u.look {
		return
	}
	u.look = u.heard + int64(unaidedLookS*u.rateHz)
	if r, err := u.ear.Result(); err == nil {
		u.perHour, u.ear = r.BeatsPerHour, nil
	} else if float64(u.heard) >= heard.UnaidedS*u.rateHz {
		u.ear = nil
	}
}

// otherBeat remarks on another beat than the stated one.
func (u *unaided) otherBeat() (n acoustic.Note, differs bool) {
	return heard.OtherBeat(u.statedPerHour, u.perHour)
}
