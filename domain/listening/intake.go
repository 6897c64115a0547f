package listening

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// ErrGap reports that more sound was lost than silence can stand for.
var ErrGap = errors.New("too much sound was lost")

// ErrLong reports that a session has become as long as one may be.
var ErrLong = errors.New("the session is as long as one may be")

// Intake counts the samples of one session and says how fast they may come. Samples are numbered from the session's
// first; the page numbers them, so that after a break of the line both sides agree on where to go on.
type Intake struct {
	rateHz float64
	next   int64
	lost   int64
	credit float64 // samples that may come at once
	at     time.Time
}

// NewIntake begins a count of samples at rateHz a second at a time. It panics unless the rate is positive.
func NewIntake(rateHz float64, at time.Time) *Intake {
	if !(rateHz > 0) || math.IsInf(rateHz, 0) {
		panic(fmt.Sprintf("listening: %v is no rate of samples", rateHz))
	}
	return &Intake{rateHz: rateHz, credit: MostCatchUpS * rateHz, at: at}
}

// Next is the number of the sample that is awaited: all before it were taken or given up as lost.
func (i *Intake) Next() int64 { return i.next }

// Lost is how many samples were given up as lost.
func (i *Intake) Lost() int64 { return i.lost }

// Take takes n samples of which the first has the number given: skip of them were taken before, and gap are missing
// before them and count as silence. The error wraps ErrGap or ErrLong, and then nothing was taken.
func (i *Intake) Take(first int64, n int) (skip int, gap int64, err error) {
	most := int64(MostSessionS * i.rateHz)
	switch {
	case n < 0 || first < 0 || first > most || first+int64(n) > most:
		return 0, 0, ErrLong
	case first > i.next:
		gap = first - i.next
		if float64(gap) > MostGapS*i.rateHz {
			return 0, 0, fmt.Errorf("%w: %.0f s", ErrGap, float64(gap)/i.rateHz)
		}
	case first < i.next:
		skip = int(min(i.next-first, int64(n)))
	}
	i.lost += gap
	i.next = max(i.next, first+int64(n))
	return skip, gap, nil
}

// Wait charges n samples that came at a time, silence that stands for lost ones included, and returns how long their
// sender has to wait before the next are read.
func (i *Intake) Wait(n int64, at time.Time) time.Duration {
	if d := at.Sub(i.at).Seconds(); d > 0 {
		i.credit = math.Min(MostCatchUpS*i.rateHz, i.credit+d*MostSpeed*i.rateHz)
		i.at = at
	}
	i.credit -= float64(n)
	if i.credit >= 0 {
		return 0
	}
	return time.Duration(-i.credit / (MostSpeed * i.rateHz) * float64(time.Second))
}
