package demoshop

import (
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/purchase"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
)

// waitingForParts are the watches that wait for parts, or whose parts are in.
func (b *book) waitingForParts() {
	good := sound(pellAuto)
	b.open("strake-tideway", arrival{back: 32, clock: "10:15", customer: "strake", watch: "strake tideway",
		wanted:    docket.WantedService,
		complaint: "The date stays at 31 however often she sets it.", declared: 58000, dueDays: 25,
		marks: []watch.ConditionMark{marked(watch.PartCrystal, watch.MarkScratch, 0.56, 0.4, "")}}).
		photographed(staff.Clerk, photo.OfCondition, steelBlack, "As handed in").
		on(31, "09:15").toBench().
		found(seen(diagnosis.Calendar, "finger broken", diagnosis.Require, ""), seen(diagnosis.AutomaticWork, "rotor rubs",
			diagnosis.Require, "Bright ring inside the back.")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.dirty(), bothDays).
		diagnosed().
		on(30, "10:10").drafted("", labour("Full service of the automatic movement", 24000), material("Date finger", 2800),
		material("Rotor bearing", 6400)).
		sent().told(message.Mail, "").
		on(28, "21:40").answeredByLink(true, "").
		on(27, "09:30").needs(piece("Date finger", "PW24A-2567", stock.OldPartToReturn), piece("Rotor bearing", "PW24A-1497",
		stock.OldPartToReturn)).
		sentFor(purchase.ByMail, pellDesk, "Date finger", "Rotor bearing").toParts().
		on(26, "11:20").heard("Date finger", purchase.Event{Kind: purchase.Confirmed}, 9).
		on(26, "11:40").heard("Rotor bearing", purchase.Event{Kind: purchase.Confirmed}, 9)

	denm := sound(denmoor)
	b.open("ellerby-again", arrival{back: 21, clock: "11:30", customer: "ellerby", watch: "ellerby dress",
		wanted:    docket.WantedService,
		complaint: "Kept after all. To be gone through as it should be.", declared: 450000, dueDays: 35}).
		on(20, "14:00").inHands(staff.Owner).toBench().
		found(seen(diagnosis.Mainspring, "set", diagnosis.Require, ""), seen(diagnosis.CaseAndSeals, "gasket hardened",
			diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", denm.swinging(236).going(-7), bothDays).
		diagnosed().
		on(18, "10:20").drafted("", labour("Full service of the automatic movement", 32000), material("Mainspring", 4800),
		material("Case gasket", 1600)).
		sent().told(message.Mail, "The owner does this one herself.").
		on(17, "08:30").answeredByLink(true, "With pleasure.").
		on(15, "09:30").needs(piece("Mainspring", "DC2-771", stock.OldPartToReturn), piece("Case gasket", "DC-140 G",
		stock.OldPartNone)).
		sentFor(purchase.ByTelephone, coldharbour, "Mainspring", "Case gasket").toParts().
		on(8, "11:30").heard("Mainspring", purchase.Event{Kind: purchase.Came, Pieces: 1}, 0).
		heard("Case gasket", purchase.Event{Kind: purchase.CameWrong, Pieces: 1, Note: "A gasket of 31.0 mm; DC-140 G is 30.4.", Fate: purchase.SentBack}, 0).
		on(2, "11:05").heard("Case gasket", purchase.Event{Kind: purchase.Came, Pieces: 1}, 0)

	b.cutterBack()
}

// cutterBack failed its final test and waits for a tube.
func (b *book) cutterBack() {
	denm := sound(denmoor)
	leaks := passes(61, 0, true).With(finaltest.Result{Test: finaltest.WaterResistance, Outcome: finaltest.OutcomeFail,
		Figure: finaltest.DryOverpressureBar, HasFigure: true,
		Medium: finaltest.MediumAir, Note: "Leaks at the crown with the stem pushed in."})
	b.open("quiggin-cutter", arrival{back: 38, clock: "12:20", customer: "quiggin", watch: "quiggin cutter",
		wanted:    docket.WantedService,
		complaint: "Six years without a service; crown feels rough.", declared: 260000, dueDays: 32,
		marks: []watch.ConditionMark{marked(watch.PartCrown, watch.MarkWorn, 0.93, 0.5, "thread rough")}}).
		photographed(staff.Clerk, photo.OfCondition, steelCream, "As handed in").
		on(37, "09:15").toBench().
		found(seen(diagnosis.Train, "dirty", diagnosis.Require, ""), seen(diagnosis.CrownAndStem, "crown seal hardened",
			diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", denm.swinging(248).going(-3.4), bothDays).
		diagnosed().
		on(36, "10:20").drafted("", labour("Full service of the automatic movement", 32000),
		material("Crown with seal", 5200)).
		sent().
		on(34, "20:20").answeredByLink(true, "").
		on(33, "09:30").needs(piece("Crown with seal", "DC-200 C",
		stock.OldPartToReturn)).fromDrawer("Crown with seal").toService().stripped(105, "").
		on(31, "09:20").rebuilt(160, "", service.StepSeals).fitted("Crown with seal").
		toRegulation().
		after(40*minute).measured(timing.AfterService, "", denm.going(6.8).outOfBeat(0.5), fullWind).
		adjusted("In beat, rim weights turned", denm.going(1.8)).
		on(29, "10:00").measured(timing.Final, "", denm, bothDays).
		toFinalTest().
		on(26, "09:30").tested(staff.Watchmaker, leaks, "").
		move(staff.Watchmaker, docket.StageParts, safe, "").
		needs(piece("Case tube", "DC-200 T", stock.OldPartToReturn)).sentFor(purchase.ByTelephone, marrow, "Case tube").
		after(1*hour).delayed(15, message.Mail, "The tube comes from the maker; we test it in water again before you get it back.").
		on(19, "10:30").heard("Case tube", purchase.Event{Kind: purchase.BackOrdered}, -6).
		on(6, "10:05").rang(staff.Clerk, message.Contact{Kind: message.SpokeWith, SpokeTo: "Orla Quiggin",
		Words: "The tube is on its way. She is in no hurry as long as it is dry afterwards."})
}
