package docket

// Requirement is one thing that must be so before a move.
type Requirement struct {
	Key string
	// Words say what is missing when the requirement is unmet, as a whole sentence.
	Words string
	Met   func(Facts) bool
}

// Waiver is what may stand in for an unmet requirement.
type Waiver int

// The waivers, from the strictest.
const (
	NoWaiver      Waiver = iota // nothing may
	ByOwnerReason               // a written reason by someone who may override, that is the owner
	ByReason                    // a written reason by whoever makes the move
)

// Need is a requirement as one move has it.
type Need struct {
	Requirement
	Waiver Waiver
}

// Sentence is the requirement's words with what may stand in for it.
func (n Need) Sentence() string {
	switch n.Waiver {
	case ByOwnerReason:
		return n.Words + " Failing that, the owner may write a reason."
	case ByReason:
		return n.Words + " Failing that, write the reason."
	}
	return n.Words
}

func must(r Requirement) Need           { return Need{r, NoWaiver} }
func orOwner(r Requirement) Need        { return Need{r, ByOwnerReason} }
func orReason(r Requirement) Need       { return Need{r, ByReason} }
func needs(list ...Need) []Need         { return list }
func places(k ...PlaceKind) []PlaceKind { return k }

// NeedRunPassed is the key of the requirement that the final run passed.
const NeedRunPassed = "final-run-passed"

// NeedPaid is the key of the requirement that nothing is due.
const NeedPaid = "paid"

// NeedCover is the key of the requirement that it is said why a comeback came back, and whether it is covered.
const NeedCover = "cover"

// NeedLoanBack is the key of the requirement that the loan watch is back.
const NeedLoanBack = "loan-back"

// The requirements. Each is stated once and used by the table of moves.
var (
	needCondition = Requirement{"condition",
		"Note the watch's condition, on the outline or by a photograph.",
		func(f Facts) bool { return f.Condition }}
	needFindings = Requirement{"findings",
		"Record at least one finding.",
		func(f Facts) bool { return f.Findings > 0 }}
	needHazards = Requirement{"hazards",
		"Acknowledge the cautions for every hazard found.",
		func(f Facts) bool { return f.HazardsOpen == 0 }}
	needAsReceived = Requirement{"as-received-run",
		"Take an as-received timing run.",
		func(f Facts) bool { return f.AsReceivedRun }}
	needAgreed = Requirement{"agreed",
		"The customer must approve the newest estimate, or its total must lie within the approval limit.",
		Facts.Agreed}
	needDeclined = Requirement{"estimate-declined",
		"Record that the customer declined the newest estimate.",
		func(f Facts) bool { return f.Estimate == EstimateDeclined }}
	needParts = Requirement{"parts",
		"Every part that the docket needs must have arrived.",
		func(f Facts) bool { return f.PartsOutstanding == 0 }}
	needSteps = Requirement{"service-steps",
		"Record at least one service step.",
		func(f Facts) bool { return f.ServiceSteps > 0 }}
	needRun = Requirement{"final-run",
		"Take a final run after the work.",
		func(f Facts) bool { return f.RunAfterWork }}
	needRunPassed = Requirement{NeedRunPassed,
		"The final run must pass its rate limits.",
		func(f Facts) bool { return f.RunOutcome == Passed }}
	needCleared = Requirement{"final-test-passed",
		"The final test must be recorded as passed.",
		Facts.Cleared}
	needCover = Requirement{NeedCover,
		"Say why the watch came back, and whether the warranty covers it.",
		func(f Facts) bool { return f.Cover != CoverOpen }}
	needTestFailed = Requirement{"final-test-failed",
		"The final test must be recorded as failed.",
		func(f Facts) bool { return f.FinalTest == Failed }}
	needCollector = Requirement{"collector",
		"Record who collects the watch, checked against the claim ticket.",
		func(f Facts) bool { return f.CollectedBy != "" }}
	needOldParts = Requirement{"old-parts",
		"Record whether the old parts go back to the customer or stay.",
		func(f Facts) bool { return f.OldPartsSettled }}
	needPaid = Requirement{NeedPaid,
		"The amount due must be paid.",
		func(f Facts) bool { return f.DueMinor <= 0 }}
	needLoan = Requirement{NeedLoanBack,
		"The loan watch is still out: take it back first, or note why it stays out.",
		func(f Facts) bool { return !f.LoanOut }}
	needInShop = Requirement{"in-shop",
		"The watch must be back in the shop.",
		func(f Facts) bool { return f.Place.InShop() }}
)
