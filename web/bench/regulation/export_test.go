package regulation

// What the tests of this room look at from outside.

var (
	JudgingOf  = judgingOf
	FitOptions = fitOptions
)

// View is the advice as its page shows it.
func (a advised) View(number string) adviceView { return a.view(number, nil) }
