package docket

import "time"

// PromiseMoved is one change of the promised day, as the journal has it.
type PromiseMoved struct {
	From, To time.Time // civil days, midnight UTC; zero where no day was promised
	At       time.Time // UTC
}

// PromiseMovedOf reads the facts of a [Promised] entry, which DayWords wrote; ok is false for what it did not write.
func PromiseMovedOf(from, to string, at time.Time) (m PromiseMoved, ok bool) {
	m.At = at.UTC()
	var fromOK, toOK bool
	m.From, fromOK = dayOfWords(from)
	m.To, toOK = dayOfWords(to)
	return m, fromOK && toOK
}

func dayOfWords(words string) (day time.Time, ok bool) {
	if words == DayWords(time.Time{}) {
		return time.Time{}, true
	}
	day, err := time.Parse(dayLayout, words)
	return day, err == nil
}

// PromiseMoves are the changes of the promised day that a customer is told of, in order: a day first given after taking
// in, and one set back to what it was within the hour by a slip of the hand, are no change of a promise. within is that
// hour.
func PromiseMoves(all []PromiseMoved) []PromiseMoved {
	const within = time.Hour
	var told []PromiseMoved
	for _, m := range all {
		if last := len(told) - 1; last >= 0 && m.At.Sub(told[last].At) < within {
			// Corrected at once: the first and the last day count.
			told[last].To = m.To
			if told[last].From.Equal(told[last].To) {
				told = told[:last]
			}
			continue
		}
		if m.From.IsZero() || m.From.Equal(m.To) {
			continue
		}
		told = append(told, m)
	}
	return told
}
