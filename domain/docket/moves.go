package docket

import (
	"fmt"

	"ledgerwheel/domain/staff"
)

// Move is one row of the table of allowed moves.
type Move struct {
	From, To Stage
	Label    string // what the button says
	May      staff.Permission
	Needs    []Need
	// Reason is true where a written reason is always wanted, whatever the needs.
	Reason bool
	// Places are the kinds of place where the watch may be after the move.
	Places []PlaceKind
	// Closes is true where the watch leaves with the customer.
	Closes bool
}

var (
	atBench   = places(PlaceBench, PlaceSafe)
	atWork    = places(PlaceBench, PlaceSafe, PlaceSentOut)
	waiting   = places(PlaceSafe, PlaceBench, PlaceSentOut)
	atCounter = places(PlaceSafe, PlaceCounter)
	goingBack = places(PlaceSafe, PlaceCounter, PlaceBench, PlaceSentOut)
	gone      = places(PlaceCustomer)
)

// moves is the one table of allowed moves. In words:
//
//	from        to           who may                needs ("or reason": a written reason may stand in)
//	intake      diagnosis    pass to the bench      condition noted
//	diagnosis   estimate     diagnose               a finding; hazards acknowledged; as-received run or reason
//	estimate    parts        pass to the bench      agreed
//	estimate    service      pass to the bench      agreed; hazards acknowledged; parts arrived or reason
//	estimate    regulation   pass to the bench      agreed; hazards acknowledged; parts arrived or reason
//	estimate    diagnosis    price an estimate      always a reason
//	estimate    declined     record the answer      newest estimate declined
//	parts       service      pass to the bench      agreed; hazards acknowledged; parts arrived or reason
//	parts       regulation   pass to the bench      agreed; hazards acknowledged; parts arrived or reason
//	parts       estimate     price an estimate      always a reason
//	service     regulation   service                agreed; hazards acknowledged; a step done; parts arrived or reason
//	service     parts        service                agreed
//	service     estimate,
//	            diagnosis    service                always a reason
//	regulation  final test   take readings          agreed; final run after the work; that run passed or reason
//	regulation  service,
//	            parts        take readings          agreed; always a reason
//	regulation  estimate,
//	            diagnosis    take readings          always a reason
//	final test  ready        final test             final run; final test passed or the owner's reason;
//	                                                of a comeback the cause and its cover, or reason
//	final test  diagnosis    final test             final test failed or reason
//	final test  parts,
//	            service,
//	            regulation   final test             agreed; final test failed or reason
//	ready       final test,
//	            diagnosis    final test             always a reason
//	ready       handed over  hand over              final test passed or the owner's reason; in the shop; collector;
//	                                                old parts settled; paid or the owner's reason
//	any before
//	handed over withdrawn    record a withdrawal    always a reason
//	declined    estimate     record the answer      always a reason (the customer thought again)
//	declined    declined     hand over, closes      in the shop; collector; old parts; paid or the owner's reason
//	withdrawn   diagnosis    record a withdrawal    always a reason (the customer thought again)
//	withdrawn   withdrawn    hand over, closes      in the shop; collector; old parts; paid or the owner's reason
//
// Agreed means that the newest revision of the estimate is approved, or priced within the approval limit
// and not declined, or that the warranty covers a comeback and nothing is priced. No reason may stand in for it. Nothing moves on a closed docket.
var moves = buildMoves()

func buildMoves() []Move {
	start := needs(must(needAgreed), must(needHazards), orReason(needParts))
	back := needs(must(needInShop), must(needCollector), must(needOldParts), orOwner(needPaid), must(needLoan))
	handOver := append(needs(orOwner(needCleared)), back...)
	mend := needs(must(needAgreed), orReason(needTestFailed))

	table := []Move{
		{From: StageIntake, To: StageDiagnosis, Label: "Pass to the bench for diagnosis", May: staff.PassToBench,
			Needs: needs(must(needCondition)), Places: atWork},

		{From: StageDiagnosis, To: StageEstimate, Label: "Diagnosis done: price the work", May: staff.Diagnose,
			Needs: needs(must(needFindings), must(needHazards), orReason(needAsReceived)), Places: waiting},

		{From: StageEstimate, To: StageParts, Label: "Agreed: wait for parts", May: staff.PassToBench,
			Needs: needs(must(needAgreed)), Places: waiting},
		{From: StageEstimate, To: StageService, Label: "Agreed: start the service", May: staff.PassToBench,
			Needs: start, Places: atWork},
		{From: StageEstimate, To: StageRegulation, Label: "Agreed: regulate", May: staff.PassToBench,
			Needs: start, Places: atBench},
		{From: StageEstimate, To: StageDiagnosis, Label: "Back to diagnosis", May: staff.PriceEstimate,
			Reason: true, Places: atWork},
		{From: StageEstimate, To: StageDeclined, Label: "Declined: goes back unrepaired", May: staff.RecordApproval,
			Needs: needs(must(needDeclined)), Places: goingBack},

		{From: StageParts, To: StageService, Label: "Start the service", May: staff.PassToBench,
			Needs: start, Places: atWork},
		{From: StageParts, To: StageRegulation, Label: "Regulate", May: staff.PassToBench,
			Needs: start, Places: atBench},
		{From: StageParts, To: StageEstimate, Label: "Back to the estimate", May: staff.PriceEstimate,
			Reason: true, Places: waiting},

		{From: StageService, To: StageRegulation, Label: "Service done: regulate", May: staff.DoService,
			Needs: needs(must(needAgreed), must(needHazards), must(needSteps), orReason(needParts)), Places: atBench},
		{From: StageService, To: StageParts, Label: "Wait for parts", May: staff.DoService,
			Needs: needs(must(needAgreed)), Places: waiting},
		{From: StageService, To: StageEstimate, Label: "Back to the estimate", May: staff.DoService,
			Reason: true, Places: waiting},
		{From: StageService, To: StageDiagnosis, Label: "Back to diagnosis", May: staff.DoService,
			Reason: true, Places: atWork},

		{From: StageRegulation, To: StageFinalTest, Label: "Regulated: final test", May: staff.TakeReadings,
			Needs: needs(must(needAgreed), must(needRun), orReason(needRunPassed)), Places: atWork},
		{From: StageRegulation, To: StageService, Label: "Back to service", May: staff.TakeReadings,
			Needs: needs(must(needAgreed)), Reason: true, Places: atWork},
		{From: StageRegulation, To: StageParts, Label: "Wait for parts", May: staff.TakeReadings,
			Needs: needs(must(needAgreed)), Reason: true, Places: waiting},
		{From: StageRegulation, To: StageEstimate, Label: "Back to the estimate", May: staff.TakeReadings,
			Reason: true, Places: waiting},
		{From: StageRegulation, To: StageDiagnosis, Label: "Back to diagnosis", May: staff.TakeReadings,
			Reason: true, Places: atWork},

		{From: StageFinalTest, To: StageReady, Label: "Ready to collect", May: staff.DoFinalTest,
			Needs: needs(must(needRun), orOwner(needCleared), orReason(needCover)), Places: atCounter},
		{From: StageFinalTest, To: StageDiagnosis, Label: "Failed: back to diagnosis", May: staff.DoFinalTest,
			Needs: needs(orReason(needTestFailed)), Places: atWork},
		{From: StageFinalTest, To: StageParts, Label: "Failed: needs a part", May: staff.DoFinalTest,
			Needs: mend, Places: waiting},
		{From: StageFinalTest, To: StageService, Label: "Failed: back to service", May: staff.DoFinalTest,
			Needs: mend, Places: atWork},
		{From: StageFinalTest, To: StageRegulation, Label: "Failed: back to regulation", May: staff.DoFinalTest,
			Needs: mend, Places: atBench},

		{From: StageReady, To: StageFinalTest, Label: "Test again", May: staff.DoFinalTest,
			Reason: true, Places: atWork},
		{From: StageReady, To: StageDiagnosis, Label: "Back to diagnosis", May: staff.DoFinalTest,
			Reason: true, Places: atWork},
		{From: StageReady, To: StageHandedOver, Label: "Hand over", May: staff.HandOver,
			Needs: handOver, Places: gone, Closes: true},

		{From: StageDeclined, To: StageEstimate, Label: "The customer thought again: new estimate",
			May: staff.RecordApproval, Reason: true, Places: waiting},
		{From: StageDeclined, To: StageDeclined, Label: "Hand back unrepaired", May: staff.HandOver,
			Needs: back, Places: gone, Closes: true},
		{From: StageWithdrawn, To: StageDiagnosis, Label: "The customer thought again: diagnose",
			May: staff.Withdraw, Reason: true, Places: atWork},
		{From: StageWithdrawn, To: StageWithdrawn, Label: "Hand back", May: staff.HandOver,
			Needs: back, Places: gone, Closes: true},
	}
	for _, from := range Rail() {
		if from != StageHandedOver {
			table = append(table, Move{From: from, To: StageWithdrawn, Label: "Withdrawn by the customer",
				May: staff.Withdraw, Reason: true, Places: goingBack})
		}
	}
	return table
}

// Moves returns the rows that leave from, in the order in which the docket's page offers them.
func Moves(from Stage) []Move {
	var out []Move
	for _, m := range moves {
		if m.From == from {
			out = append(out, m)
		}
	}
	return out
}

// NoMoveError reports that the table has no such row.
type NoMoveError struct{ From, To Stage }

// Error says so in plain words.
func (e *NoMoveError) Error() string {
	return fmt.Sprintf("a docket can't go from %s to %s", e.From.Label(), e.To.Label())
}

// FindMove returns the row for from and to. A hand-back from declined or withdrawn has from equal to to.
// It returns a [*NoMoveError] if there is none.
func FindMove(from, to Stage) (Move, error) {
	for _, m := range moves {
		if m.From == from && m.To == to {
			return m, nil
		}
	}
	return Move{}, &NoMoveError{from, to}
}

// Reopens reports whether m leads to a stage in which the watch is not cleared to leave as repaired, so
// that any owner's reason written before lapses.
func (m Move) Reopens() bool { return m.To != StageReady && m.To != StageHandedOver }
