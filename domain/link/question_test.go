package link_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/link"
)

func TestMayAsk(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 24, 10, 0, 0, 0, time.UTC)
	asked := func(n int, hoursAgo time.Duration, answer string) []link.Question {
		var list []link.Question
		for i := range n {
			list = append(list, link.Question{Words: fmt.Sprint("question ", i), AskedAt: now.Add(-hoursAgo * time.Hour), Answer: answer})
		}
		return list
	}
	for name, c := range map[string]struct {
		words  string
		before []link.Question
		want   error
	}{
		"the first":               {"Is it ready?", nil, nil},
		"nothing":                 {"", nil, link.ErrNothingAsked},
		"as long as may be":       {strings.Repeat("ü", link.MaxQuestion), nil, nil},
		"longer":                  {strings.Repeat("ü", link.MaxQuestion+1), nil, link.ErrTooLongAsked},
		"two wait":                {"Is it ready?", asked(2, 1, ""), nil},
		"three wait":              {"Is it ready?", asked(3, 100, ""), link.ErrAskedEnough},
		"the same waits":          {"question 0", asked(1, 1, ""), link.ErrAskedEnough},
		"the same was answered":   {"question 0", asked(1, 1, "yes"), nil},
		"five today":              {"Is it ready?", asked(5, 23, "yes"), link.ErrAskedEnough},
		"five the day before":     {"Is it ready?", asked(5, 24, "yes"), nil},
		"fifty in the whole time": {"Is it ready?", asked(50, 500, "yes"), link.ErrAskedEnough},
	} {
		if err := link.MayAsk(c.words, c.before, now); !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for answer, ok := range map[string]bool{"": false, "Yes.": true, strings.Repeat("x", link.MaxQuestion+1): false} {
		if bad := link.AnswerProblems(answer); (len(bad) == 0) != ok {
			t.Errorf("an answer of %d characters: %v", len(answer), bad)
		}
	}
}
