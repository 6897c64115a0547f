package heard

import (
	"math"
	"time"

	"ledgerwheel/domain/acoustic"
)

// Correct works amplitude and beat error of a result out anew with the instants as a watchmaker set them, and returns
// the facts of it, which keep both. An unlocking left blank stays as it was found; instants as they were found leave no
// correction.
func Correct(found acoustic.Result, from Source, set [2]Instants, by string, at time.Time) (acoustic.Result, Facts) {
	for swing, was := range InstantsOf(found) {
		if set[swing].UnlockingMs == nil {
			set[swing].UnlockingMs = was.UnlockingMs
		}
	}
	if Same(InstantsOf(found), set) {
		return found, FactsOf(found, from)
	}
	corrected := found.WithInstants(acousticInstants(set[acoustic.Tick]), acousticInstants(set[acoustic.Tock]))
	f := FactsOf(corrected, from)
	f.Correction = correctionOf(found, set, by, at)
	return corrected, f
}

// Corrected returns the result as the facts say that it was corrected.
func (f Facts) Corrected(found acoustic.Result) acoustic.Result {
	if f.Correction == nil {
		return found
	}
	set := f.Correction.Set
	return found.WithInstants(acousticInstants(set[acoustic.Tick]), acousticInstants(set[acoustic.Tock]))
}

func acousticInstants(i Instants) acoustic.Instants {
	out := acoustic.Instants{UnlockingMs: math.NaN(), DropMs: i.DropMs}
	if i.UnlockingMs != nil {
		out.UnlockingMs = *i.UnlockingMs
	}
	return out
}
