package docket

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// What the journal's entries say of runs, for people; see the other summaries.

// Words is o as the journal writes a run's verdict.
func (o Outcome) Words() string {
	if o == NotYet {
		return "no verdict"
	}
	return string(o)
}

// JudgedWords says how a run came out and by which rate limits; "" where there was nothing to judge it by.
func (o Outcome) JudgedWords(limitsTitle string) string {
	if limitsTitle == "" {
		return "not judged"
	}
	return o.Words() + " by " + limitsTitle
}

// RunSummary tells that a run was recorded, and how it came out.
func RunSummary(runTitle, judged string) string {
	return fmt.Sprintf("Run %s recorded: %s.", runTitle, judged)
}

// RunChangedSummary tells how many entries of a run were changed.
func RunChangedSummary(runTitle string, entries int) string {
	count := "One entry"
	if entries > 1 {
		count = fmt.Sprintf("%d entries", entries)
	}
	return fmt.Sprintf("%s of the run %s changed.", count, runTitle)
}

// RunJudgedSummary tells that a run came out otherwise than before.
func RunJudgedSummary(runTitle, judged string) string {
	return fmt.Sprintf("The run %s is judged again: %s.", runTitle, judged)
}

// RunsJudgedSummary tells by which rate limits all runs are judged from now on.
func RunsJudgedSummary(limitsTitle string) string {
	return "The docket's runs are judged by " + limitsTitle + "."
}

// GradeProblem is what is wrong with a grade that has no rate limits.
const GradeProblem = "Choose one of the grades offered."

// Why a change of runs is not made without a reason.
const (
	NoRunReason   = "A figure on record is changed: say why. It stays beside the run and in the journal."
	NoGradeReason = "The runs were judged by another grade before: say why they are judged by this one."
	longRunReason = "Keep the reason to 2000 characters."
)

// RunReasonProblem is what is wrong with the reason for a change of runs that asks for one; missing says so where there
// is none.
func RunReasonProblem(why, missing string) string {
	switch {
	case strings.TrimSpace(why) == "":
		return missing
	case utf8.RuneCountInString(why) > maxReason:
		return longRunReason
	}
	return ""
}
