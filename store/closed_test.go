package store_test

import (
	"errors"
	"testing"

	"ledgerwheel/domain"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/uncollected"
	"ledgerwheel/store"
)

// What has left the shop stays as it is. Each change is made on the newest version, so that it is refused because the
// docket is closed and for no other reason; and nothing of it is kept.
func TestClosedDocketsStayAsTheyAre(t *testing.T) {
	t.Parallel()
	b := newBench(t)
	stem := stock.PartLine{Description: "Stem", Quantity: 1, State: stock.Needed}
	down, part := b.runDown(t, 40), b.mustAddPart(t, stem)
	b.close(t, b.n, docket.StageWithdrawn, b.at)
	ctx, before := t.Context(), b.head(t).Docket.Version
	answer := estimate.Answer{Revision: 1, Approve: true, Name: "Ada Quillmarsh"}
	for name, change := range map[string]func(store.Change) error{
		"AddFinding":     func(c store.Change) error { return second(b.AddFinding(ctx, c, brokenSpring)) },
		"StrikeFinding":  func(c store.Change) error { return b.StrikeFinding(ctx, c, 1, "x") },
		"CorrectFinding": func(c store.Change) error { return b.CorrectFinding(ctx, c, 1, brokenSpring) },
		"AddHazard":      func(c store.Change) error { return b.AddHazard(ctx, c, diagnosis.MainspringLetDown, "x") },
		"Acknowledge":    func(c store.Change) error { return b.AcknowledgeHazard(ctx, c, diagnosis.MainspringLetDown) },
		"NoteCondition": func(c store.Change) error {
			return second(b.NoteCondition(ctx, c, store.ConditionTyped{Condition: noMarks}))
		},
		"RecordRun": func(c store.Change) error {
			return second(b.RecordRun(ctx, c, store.RunEntry{Sheet: runSheet(timing.Final, 3)}))
		},
		"ChangeRun":  func(c store.Change) error { return b.ChangeRun(ctx, c, 1, 1, runSheet(timing.Final, 3)) },
		"JudgeRuns":  func(c store.Change) error { return b.JudgeRuns(ctx, c, timing.GradeModern) },
		"BeginTrial": func(c store.Change) error { return second(b.BeginTrial(ctx, c, b.trialPlan(0))) },
		"NoteTrialDay": func(c store.Change) error {
			return b.NoteTrialDay(ctx, c, 1, store.TrialNote{Entry: dayOf(b.trialPlan(1), 1, 2)})
		},
		"EndTrial":     func(c store.Change) error { return second(b.EndTrial(ctx, c, 1)) },
		"AbandonTrial": func(c store.Change) error { return b.AbandonTrial(ctx, c, 1, "x") },
		"AddPhotos": func(c store.Change) error {
			return second(b.AddPhotos(ctx, c, photo.Label{About: photo.OfWork}, []photo.Picture{pictureOf("a")}))
		},
		"CaptionPhoto": func(c store.Change) error { return b.CaptionPhoto(ctx, c, 1, "x") },
		"CorrectIntake": func(c store.Change) error {
			return b.CorrectIntake(ctx, c, docket.Intake{Complaint: "x", Wanted: docket.WantedService})
		},
		"KeepBenchFinding": func(c store.Change) error { return second(b.KeepBenchFinding(ctx, c, workedOut, brokenSpring)) },
		"KeepBenchPart": func(c store.Change) error {
			return second(b.KeepBenchPart(ctx, c, workedOut, stem))
		},
		"KeepBenchCorrection": func(c store.Change) error {
			return b.KeepBenchCorrection(ctx, c, workedOut, 1, 1, map[string]string{"power_reserve_hours": "42"})
		},
		"RecordFinalTest": func(c store.Change) error { return second(b.RecordFinalTest(ctx, c, passed(), "")) },
		"KeepHeard":       func(c store.Change) error { return second(b.KeepHeard(ctx, c, b.hearing(timing.DialUp, 3))) },
		"KeepRunDown":     func(c store.Change) error { return second(b.KeepRunDown(ctx, c, down)) },
		"Move": func(c store.Change) error {
			return b.Move(ctx, c, docket.StageDiagnosis, docket.Act{Role: c.By.Role, Reason: "x",
				Place: docket.PlaceAt(docket.PlaceSafe, "")}, 0)
		},
		"MoveWatch":      func(c store.Change) error { return b.MoveWatch(ctx, c, docket.PlaceAt(docket.PlaceSafe, "")) },
		"Assign":         func(c store.Change) error { return b.Assign(ctx, c, b.watchmaker.StaffID) },
		"SaveDraft":      func(c store.Change) error { return second(b.SaveDraft(ctx, c, priced())) },
		"SaveAndSend":    func(c store.Change) error { return second(b.SaveAndSend(ctx, c, priced(), estimateDay)) },
		"DiscardDraft":   func(c store.Change) error { return b.DiscardDraft(ctx, c) },
		"SendEstimate":   func(c store.Change) error { return b.SendEstimate(ctx, c, 1, estimateDay) },
		"AnswerEstimate": func(c store.Change) error { return b.AnswerEstimate(ctx, c, answer, estimateDay) },
		"AnswerByLink":   func(c store.Change) error { return b.AnswerByLink(ctx, c, 1, answer, estimateDay) },
		"AddPart": func(c store.Change) error {
			return second(b.AddPart(ctx, c, stem))
		},
		"CorrectPart": func(c store.Change) error {
			return b.CorrectPart(ctx, c, part, stock.PartLine{Description: "Crown", Quantity: 1})
		},
		"MovePart": func(c store.Change) error {
			return b.MovePart(ctx, c, part, store.PartMove{To: stock.Ordered, Supplier: "Gannet"})
		},
		"SetOldPart":  func(c store.Change) error { return b.SetOldPart(ctx, c, part, stock.OldPartLeft) },
		"AddWork":     func(c store.Change) error { return second(b.AddWork(ctx, c, service.Work{Minutes: 5})) },
		"CorrectWork": func(c store.Change) error { return b.CorrectWork(ctx, c, 1, service.Work{Minutes: 5}) },
		"WriteNotice": func(c store.Change) error {
			return b.WriteNotice(ctx, c, uncollected.Letter{Kind: uncollected.CollectNotice, Tongue: "en", Title: "x", Addressee: "x", Body: "x"})
		},
		"NoteBlock": func(c store.Change) error { return b.NoteBlock(ctx, c, uncollected.BillDisputed, "x") },
		"HandOver":  func(c store.Change) error { return b.HandOver(ctx, c, b.leaving(), "x") },
	} {
		if err := change(b.seen(t, b.owner)); !errors.Is(err, domain.ErrClosed) {
			t.Errorf("%s: %v", name, err)
		}
		if now := b.head(t).Docket.Version; now != before {
			t.Fatalf("%s changed the docket", name)
		}
	}
}
