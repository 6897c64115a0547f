package demoshop

import (
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/timing"
)

// Why a watch leaves the bench on the day that it came.
const (
	sameDay  = "At full wind only, as nothing in the movement was taken apart. She collects tomorrow."
	notTaken = "The movement was not taken apart."
)

// notOpened is a final test of what can be tested at once on a watch whose movement stayed together.
func notOpened() finaltest.Sheet {
	return passes(0, 0, false).With(finaltest.Result{Test: finaltest.PowerReserve, Outcome: finaltest.OutcomeNotApplicable,
		Note: notTaken})
}

// together is one customer's three watches on one ticket, the last that came in: two are ready by the evening and wait to
// leave together, the third stays at the bench. They come last so that the numbers of all others stay.
func (b *book) together() {
	small := sound(ostrelleA)
	b.open("oddyhale-merle", arrival{back: 1, clock: "15:58", customer: "oddyhale", watch: "oddyhale merle",
		wanted:    docket.WantedRegulation,
		complaint: "Gains minutes since it lay on the lid of a loudspeaker.", limit: 8000, declared: 54000, dueDays: 1}).
		photographed(staff.Clerk, photo.OfCondition, steelCream, "As handed in").
		on(1, "16:12").toBench().
		found(seen(diagnosis.Hairspring, "magnetised", diagnosis.Require, "A compass needle turns over it.")).
		readCautions().
		measured(timing.AsReceived, "", small.magnetised(), fullWind).
		diagnosed().
		drafted("", labour("Demagnetised, checked in six positions", 2400)).
		toRegulation().
		worked(5, "", service.StepDemagnetise).
		measured(timing.Final, "", small, fullWind).
		move(staff.Watchmaker, docket.StageFinalTest, bench1, sameDay).
		tested(staff.Watchmaker, notOpened(), "").
		toReady().told(message.Mail, "").
		card(6)

	good := sound(ostrelle)
	b.open("oddyhale-briar", arrival{back: 1, clock: "16:02", customer: "oddyhale", watch: "oddyhale briar", with: "oddyhale-merle",
		wanted:    docket.WantedCase,
		complaint: "Her aunt’s. The glass is cracked; goes well.", limit: 8000, declared: 26000, dueDays: 1}).
		photographed(staff.Clerk, photo.OfCondition, smallGold, "As handed in").
		on(1, "16:16").toBench().
		found(seen(diagnosis.CaseAndSeals, "crystal cracked", diagnosis.Require, "")).
		readCautions().
		on(1, "16:40").measured(timing.AsReceived, "", good, fullWind).
		on(1, "16:44").diagnosed().
		on(1, "16:48").drafted("", labour("Glass fitted", 3500), material("Glass 30.5 mm, domed", 2600)).
		on(1, "16:52").needs(piece("Glass 30.5 mm, domed", "GL-305", stock.OldPartToReturn)).
		on(1, "16:55").fromDrawer("Glass").
		on(1, "16:58").toService().
		on(1, "17:08").fitted("Glass").
		on(1, "17:10").worked(30, "", service.StepCaseUp).
		on(1, "17:14").toRegulation().
		on(1, "17:30").measured(timing.Final, "", good, fullWind).
		on(1, "17:33").move(staff.Watchmaker, docket.StageFinalTest, bench1, sameDay).
		on(1, "17:38").tested(staff.Watchmaker, notOpened(), "").
		on(1, "17:47").toReady().told(message.Mail, "").
		jotted(staff.Watchmaker, "The old glass lies in the bag with it.")

	b.open("oddyhale-legation", arrival{back: 1, clock: "16:06", customer: "oddyhale", watch: "oddyhale legation", with: "oddyhale-merle",
		wanted: docket.WantedRepair, complaint: "Her late father’s. Winds without end and does not start.", declared: 95000, dueDays: 28}).
		photographed(staff.Clerk, photo.OfCondition, goldSilver, "As handed in").
		on(1, "17:52").toBench().
		found(seen(diagnosis.Mainspring, "broken", diagnosis.Require, ""))
}
