package finaltest

import "ledgerwheel/domain/text"

// Before is what was recorded of a watch's final test before a new recording.
type Before struct {
	// Standing is the newest recording that still counts.
	Standing Sheet
	// SinceWork holds of each test its newest result since the watch was last worked on (see [Newest]): where the
	// watch came back to its final test without bench work, a line is open again, but what failed is still so.
	SinceWork Sheet
}

// Newest gathers of each test its newest result from recordings, newest first. A result that is open says nothing of
// its test, unless it corrects what stood there.
func Newest(newestFirst []Sheet) Sheet {
	var out Sheet
	for _, t := range Tests {
		for _, s := range newestFirst {
			if r := s.Result(t); r.Outcome != OutcomeOpen || r.Corrects != "" {
				out.Results = append(out.Results, r)
				break
			}
		}
	}
	return out
}

// Earlier returns the different results that now's test had in earlier recordings, newest first: what stays in sight
// beside the line.
func Earlier(newestFirst []Sheet, now Result) []Result {
	var out []Result
	last := now
	for _, s := range newestFirst {
		r := s.Result(now.Test)
		same := r.Form() == last.Form() && r.ByID == last.ByID && r.At.Equal(last.At)
		if (r.Outcome != OutcomePass && r.Outcome != OutcomeFail) || same {
			continue
		}
		out, last = append(out, r), r
	}
	return out
}

// WasWords says how an earlier result read: "fail, 20 h".
func (r Result) WasWords() string {
	if f := r.FigureWords(); f != "" {
		return r.Outcome.Words() + ", " + f
	}
	return r.Outcome.Words()
}

// Why a result can't take the place of what stands.
const (
	noCorrection = "This test is recorded as failed, and the watch was not worked on since. Send it back to the bench; " +
		"or, if the fail was typed by mistake, say here what happened."
	noFigureReason  = "A recorded figure is changed: say here what was typed wrongly."
	nothingCorrects = "Nothing recorded is changed here. Change the outcome or the figure, or clear this."
	oldNote         = "This note was written for the fail. Say what is so now, or clear it."
)

// correctionProblems says, by form field, why r may not take the place of what was recorded: "corrects" or "note". A
// fail stays until the watch was worked on, and a figure as it was typed, unless a slip of typing is corrected and the
// reason given.
func (r Result) correctionProblems(b Before) map[string]string {
	if text.TooLong(r.Corrects, MaxNote) {
		return map[string]string{"corrects": "Keep the reason to at most 2000 characters."}
	}
	bad := map[string]string{}
	was, standing := b.SinceWork.Result(r.Test), b.Standing.Result(r.Test)
	if r.Outcome == OutcomeOpen && standing.Outcome == OutcomeOpen {
		was = Result{Test: r.Test} // nothing stands, and nothing is said yet
	}
	undone := was.Outcome == OutcomeFail && r.Outcome != OutcomeFail
	refigured := standing.figureStands() && standing.Outcome == r.Outcome && standing.FigureWords() != r.FigureWords()
	switch {
	case undone && r.Corrects == "":
		bad["corrects"] = noCorrection
	case refigured && r.Corrects == "":
		bad["corrects"] = noFigureReason
	case !undone && !refigured && r.Corrects != "" && standing.Form() == r.Form():
		bad["corrects"] = nothingCorrects
	}
	if undone && r.Note != "" && r.Note == was.Note {
		bad["note"] = oldNote
	}
	return bad
}

// Corrected returns, of each result that s gives a reason for, the one whose place it takes.
func (s Sheet) Corrected(b Before) map[Test]Result {
	was := map[Test]Result{}
	for _, r := range s.Results {
		if r.Corrects != "" {
			was[r.Test] = b.SinceWork.Result(r.Test)
		}
	}
	return was
}

// Corrigible reports whether recording t anew may ask for a reason: it failed since the watch was last worked on, or a
// figure stands.
func (b Before) Corrigible(t Test) bool {
	return b.SinceWork.Result(t).Outcome == OutcomeFail || b.Standing.Result(t).figureStands()
}

// figureStands reports whether r is decided on a figure.
func (r Result) figureStands() bool { return r.HasFigure && r.Outcome != OutcomeOpen }
