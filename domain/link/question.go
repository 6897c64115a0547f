package link

import (
	"errors"
	"time"

	"ledgerwheel/domain/text"
)

// Question is what the customer asked by the private link, and what they were answered.
type Question struct {
	ID         int64
	Words      string
	AskedAt    time.Time // UTC
	Answer     string    // "" while it waits
	AnsweredAt time.Time // UTC; zero while it waits
	AnsweredBy string
}

// Open reports whether q waits for an answer.
func (q Question) Open() bool { return q.Answer == "" }

// MaxQuestion is the longest question or answer, in characters.
const MaxQuestion = 1000

// What may be asked about one docket: a link is a secret, but one that is easily passed on. The numbers are ours.
const (
	mostOpen   = 3  // that wait for an answer
	mostADay   = 5  // within 24 hours
	mostInAll  = 50 // ever
	aDayOfThem = 24 * time.Hour
)

// The ways a question is refused.
var (
	ErrNothingAsked = errors.New("nothing is asked")
	ErrTooLongAsked = errors.New("the question is too long")
	ErrAskedEnough  = errors.New("enough was asked for now")
	ErrAnswered     = errors.New("the question was answered already")
)

// MayAsk returns why the words may not be asked at the time now where those questions were asked about the docket before;
// nil where they may. The same words again, while they wait, are ErrAskedEnough too.
func MayAsk(words string, before []Question, now time.Time) error {
	switch {
	case words == "":
		return ErrNothingAsked
	case text.TooLong(words, MaxQuestion):
		return ErrTooLongAsked
	}
	open, today := 0, 0
	for _, q := range before {
		if q.Open() {
			open++
			if q.Words == words {
				return ErrAskedEnough
			}
		}
		if now.Sub(q.AskedAt) < aDayOfThem {
			today++
		}
	}
	if open >= mostOpen || today >= mostADay || len(before) >= mostInAll {
		return ErrAskedEnough
	}
	return nil
}

// AnswerProblems says what stops an answer from being kept, under "answer".
func AnswerProblems(answer string) map[string]string {
	switch {
	case answer == "":
		return map[string]string{"answer": "Write the answer: the customer reads it on their page."}
	case text.TooLong(answer, MaxQuestion):
		return map[string]string{"answer": "Keep the answer to 1000 characters."}
	}
	return nil
}
