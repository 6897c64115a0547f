package service

import "ledgerwheel/domain/oscillator"

// Work is what the step says to the advice on rates; ok is false for one that says nothing there.
func (s Step) Work() (w oscillator.Work, ok bool) {
	switch s {
	case StepDemagnetise:
		return oscillator.Demagnetised, true
	case StepClean:
		return oscillator.Cleaned, true
	case StepMainspring:
		return oscillator.MainspringReplaced, true
	}
	return "", false
}
