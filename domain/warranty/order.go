package warranty

import "ledgerwheel/domain/docket"

// OrderProblem says why somebody who is not the owner may not issue a docket's card; "" where the owner's standing order
// lets them: it is given, the final test was passed and the final run kept its limits. An owner's reason in place of either
// is no ground for another card.
func OrderProblem(given bool, f docket.Facts) string {
	switch {
	case !given:
		return "Warranty cards are issued by the owner."
	case f.FinalTest != docket.Passed:
		return "The standing order is for watches that passed their final test. The owner issues this card."
	case f.RunOutcome != docket.Passed:
		return "The standing order is for watches whose final run kept its limits. The owner issues this card."
	}
	return ""
}

// OrderWords names the standing order under which a card is issued, by the day on which it was given and by whom.
func OrderWords(day, by string) string {
	if by == "" {
		return "given " + day
	}
	return "given " + day + " by " + by
}
