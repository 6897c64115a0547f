package timing

import (
	"fmt"
	"slices"
	"strings"

	"ledgerwheel/domain/metrology"
)

// JudgedLimit is the outcome of one limit.
type JudgedLimit struct {
	Limit                   Limit
	Statistic               Statistic
	Verdict                 metrology.Verdict // NotMeasured when the statistic could not be computed
	ProbabilityOfConformity float64           // 0 to 1; 0 when not measured
	Text                    string            // a sentence that explains the verdict
}

// Judgement is the outcome of a run, with all it was judged by.
type Judgement struct {
	Grade, Name string
	Version     int
	Rule        metrology.Rule
	Verdict     metrology.Verdict
	Limits      []JudgedLimit
	Statistics  Statistics
	Text        string // a sentence that explains the verdict
}

// Judge judges a run by rate limits under a decision rule. The run fails if any limit fails; else it is not measured if
// any limit is not measured, and says which; else it is undecided if any limit is; else it passes.
// The run and the limits must pass their Problems, and the rule its Check; Judge panics on figures that are no numbers.
func Judge(run Run, limits RateLimits, rule metrology.Rule, instruments Instruments) Judgement {
	stats := StatisticsOf(run, Options{Positions: limits.Positions, Instruments: instruments})
	j := Judgement{Grade: limits.Grade, Name: limits.Name, Version: limits.Version, Rule: rule, Statistics: stats}
	for _, c := range criteria {
		if limit, set := limits.Limit(c.key); set {
			j.Limits = append(j.Limits, judgeLimit(limit, c.of(stats), rule))
		}
	}
	j.Verdict = runVerdict(j.Limits)
	j.Text = j.explain()
	return j
}

func judgeLimit(limit Limit, s Statistic, rule metrology.Rule) JudgedLimit {
	judged := JudgedLimit{Limit: limit, Statistic: s}
	if !s.Computable() {
		judged.Text = fmt.Sprintf("Not measured: the %s %s.", limit.Label(), s.Why)
		return judged
	}
	judged.Verdict, judged.ProbabilityOfConformity = metrology.Decide(s.Value, limit.Limits, rule)
	figure, bounds, chance := s.Text(), limit.Text(), percent(judged.ProbabilityOfConformity)
	switch judged.Verdict {
	case metrology.Pass:
		judged.Text = fmt.Sprintf("Pass: %s meets %s; probability of conformity %s.", figure, bounds, chance)
	case metrology.Fail:
		judged.Text = fmt.Sprintf("Fail: %s does not meet %s; probability of conformity %s.", figure, bounds, chance)
	case metrology.Undecided:
		judged.Text = fmt.Sprintf("Undecided: the limit (%s) lies inside the uncertainty of %s; probability of conformity %s. "+
			"Measure longer or better.", bounds, figure, chance)
	}
	return judged
}

func runVerdict(limits []JudgedLimit) metrology.Verdict {
	count := map[metrology.Verdict]int{}
	for _, l := range limits {
		count[l.Verdict]++
	}
	switch {
	case count[metrology.Fail] > 0:
		return metrology.Fail
	case count[metrology.NotMeasured] > 0 || len(limits) == 0:
		return metrology.NotMeasured
	case count[metrology.Undecided] > 0:
		return metrology.Undecided
	}
	return metrology.Pass
}

// Judged reports whether any limit could be judged.
func (j Judgement) Judged() bool {
	return slices.ContainsFunc(j.Limits, func(l JudgedLimit) bool { return l.Verdict != metrology.NotMeasured })
}

// explain says why the run's verdict is what it is, naming the limits that decided it.
func (j Judgement) explain() string {
	by := fmt.Sprintf("%s, version %d", j.Name, j.Version)
	switch j.Verdict {
	case metrology.Pass:
		return fmt.Sprintf("Pass: every limit of %s is met.", by)
	case metrology.Fail:
		return fmt.Sprintf("Fail by %s. Not met: %s.", by, j.labels(metrology.Fail))
	case metrology.NotMeasured:
		if !j.Judged() {
			return fmt.Sprintf("Not measured: no limit of %s could be judged.", by)
		}
		said := fmt.Sprintf("Not all that %s asks for was measured. Not measured: %s.", by, j.labels(metrology.NotMeasured))
		if labels := j.labels(metrology.Undecided); labels != "" {
			said += " Within the uncertainty: " + labels + "."
		}
		return said
	}
	return fmt.Sprintf("Undecided by %s. Within the uncertainty: %s.", by, j.labels(metrology.Undecided))
}

func (j Judgement) labels(v metrology.Verdict) string {
	var labels []string
	for _, l := range j.Limits {
		if l.Verdict == v {
			labels = append(labels, l.Limit.Label())
		}
	}
	return andListWithSemicolons(labels)
}

// andListWithSemicolons joins labels that may hold commas themselves.
func andListWithSemicolons(labels []string) string {
	for _, l := range labels {
		if strings.Contains(l, ",") {
			return strings.Join(labels, "; ")
		}
	}
	return andList(labels)
}

// percent writes a probability in per cent without claiming certainty.
func percent(p float64) string {
	switch {
	case p > 0.999:
		return "over 99.9 %"
	case p < 0.001:
		return "under 0.1 %"
	}
	return fmt.Sprintf("%.1f %%", 100*p)
}

// LimitsTitle names the limits judged by, see [RateLimits.Title].
func (j Judgement) LimitsTitle() string { return limitsTitle(j.Name, j.Version) }
