package trial

import (
	"strings"

	"ledgerwheel/domain/chronometer"
	"ledgerwheel/domain/metrology"
)

// Advice says what is best done with a running trial of which a criterion is spoilt; "" where none is, or where it has
// failed whatever comes.
func Advice(j chronometer.Judgement, rule metrology.Rule) string {
	spoilt := j.With(chronometer.Spoilt)
	if len(spoilt) == 0 || VerdictBy(j, rule) == metrology.Fail {
		return ""
	}
	const again = " If a day was noted wrongly, correct it. Otherwise begin again: abandon this trial, let the watch settle, " +
		"and begin another."
	if len(spoilt) == len(j.Results) {
		return "Nothing of this trial can be saved: every criterion is spoilt." + again
	}
	var left []string
	for _, r := range j.Results {
		if r.Standing != chronometer.Spoilt {
			left = append(left, r.Criterion.Symbol())
		}
	}
	return "This trial can't be passed any more: " + symbols(spoilt) + " spoilt." + again +
		" Going on can only show " + strings.Join(left, ", ") + "."
}

// symbols lists criteria with their verb: "C is", "M, V are".
func symbols(list []chronometer.Criterion) string {
	names := make([]string, len(list))
	for i, c := range list {
		names[i] = c.Symbol()
	}
	verb := " are"
	if len(list) == 1 {
		verb = " is"
	}
	return strings.Join(names, ", ") + verb
}

// EndingWords say what ending the trial now does, before it is done.
func EndingWords(v metrology.Verdict) string {
	return "It ends for good, with this verdict: " + VerdictWords(v) + ". No day can be noted or corrected after that, and " +
		"the bulletin says so."
}

// NoConfirm is why a trial is not ended that nobody confirmed.
const NoConfirm = "Tick this to end the trial. Nothing was ended."
