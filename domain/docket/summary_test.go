package docket_test

import (
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
)

// TestSummaries holds the journal's words: a sentence once written is hashed, so each reads on as the ones before it.
func TestSummaries(t *testing.T) {
	t.Parallel()
	n := docket.Number{Year: 26, Seq: 42}
	day := time.Date(2026, 3, 5, 0, 0, 0, 0, time.UTC)
	seat := docket.PlaceAt(docket.PlaceBench, "bench 2")
	amount := int64(12050)
	for _, tt := range []struct{ got, want string }{
		{docket.ReceivedSummary("Fenwick Diver", "Ines Marlow", ""), "Taken in: Fenwick Diver, from Ines Marlow."},
		{docket.ReceivedSummary("Fenwick", "Ines Marlow", "Tom Reed"), "Taken in: Fenwick, from Ines Marlow; brought " +
			"before by Tom Reed."},
		{docket.ComebackSummary(n), "Comes back under the warranty of docket " + n.String() + "."},
		{docket.CameBackSummary(n), "The watch came back under warranty as docket " + n.String() + "."},
		{docket.ConditionSummary(watch.Condition{}), "Condition noted: no marks seen."},
		{docket.ConditionSummary(watch.Condition{Marks: make([]watch.ConditionMark, 1)}), "Condition noted: one mark."},
		{docket.ConditionSummary(watch.Condition{Marks: make([]watch.ConditionMark, 2)}), "Condition noted: 2 marks."},
		{docket.Intake{}.PromisedSummary(), "No day is promised any more."},
		{docket.Intake{PromisedOn: day}.PromisedSummary(), "Promised for Thu 5 Mar 2026."},
		{docket.Move{From: docket.StageReady, To: docket.StageHandedOver}.LeftSummary("Ines Marlow"),
			"Handed over to Ines Marlow."},
		{docket.Move{From: docket.StageDeclined, To: docket.StageDeclined}.LeftSummary("Ines Marlow"),
			"Handed back to Ines Marlow."},
		{docket.Move{From: docket.StageIntake, To: docket.StageDiagnosis}.Summary(seat),
			"From " + docket.StageIntake.Label() + " to " + docket.StageDiagnosis.Label() + ". The watch: " + seat.String() +
				"."},
		{docket.InHandSummary(""), "Nobody has the work in hand."},
		{docket.InHandSummary("Ada Wren"), "The work is in the hands of Ada Wren."},
		{docket.Leaving{CollectedBy: "Ines Marlow", Proof: docket.ProofTicket}.CollectedSummary(),
			"Collected by Ines Marlow, against the claim ticket."},
		{docket.Leaving{CollectedBy: "Ines Marlow", Proof: docket.ProofIdentity}.CollectedSummary(),
			"Collected by Ines Marlow, without the claim ticket."},
		{docket.OldPartsLeft.Summary(), "Old parts: left with the shop."},
		{docket.Payment{Minor: 12050, Method: docket.Cash}.Summary("EUR"), "120.50 EUR paid, cash."},
		{docket.Payment{Minor: -12050, Method: docket.Transfer}.Summary("EUR"), "120.50 EUR given back, bank transfer."},
		{docket.Charge{Minor: &amount}.Summary("EUR"), "Charged: 120.50 EUR in total."},
		{docket.Charge{}.Summary("EUR"), "Charged as the estimate says."},
		{docket.BenchFindingSummary("Gear train", "balance staff"), "Gear train: kept as a finding on the balance staff."},
		{docket.RunSummary("as received", docket.Passed.JudgedWords("Usual, version 2")), "Run as received recorded: pass " +
			"by Usual, version 2."},
		{docket.RunSummary("final", docket.NotYet.JudgedWords("")), "Run final recorded: not judged."},
		{docket.RunChangedSummary("final", 1), "One entry of the run final changed."},
		{docket.RunChangedSummary("final", 3), "3 entries of the run final changed."},
		{docket.RunJudgedSummary("final", docket.NotYet.JudgedWords("Usual, version 2")), "The run final is judged again: " +
			"no verdict by Usual, version 2."},
		{docket.WatchCorrectedSummary(docket.WatchCorrections(watch.Watch{Serial: "1"},
			watch.Watch{Serial: "2", Notes: "n"})), "Watch corrected: serial, notes."},
		{docket.IntakeCorrectedSummary(docket.Intake{}.Corrections(docket.Intake{Complaint: "stops"})),
			"Intake corrected: complaint."},
	} {
		if tt.got != tt.want {
			t.Errorf("%q, want %q", tt.got, tt.want)
		}
	}
}

func TestReceivedFactsLeaveOutWhatWasNotSaid(t *testing.T) {
	t.Parallel()
	facts := docket.ReceivedFacts("Ines Marlow", "", watch.Watch{Maker: "Fenwick"}, docket.Intake{Complaint: "stops",
		Currency: "EUR"},
		docket.PlaceAt(docket.PlaceCounter, ""))
	for key, want := range map[string]string{"customer": "Ines Marlow", "brought before by": "", "model": "",
		"declared value": "not stated",
		"promised for":   "no day", "complaint": "stops"} {
		if got, said := facts[key]; got != want || said != (want != "") {
			t.Errorf("%s: %q, want %q", key, got, want)
		}
	}
}
