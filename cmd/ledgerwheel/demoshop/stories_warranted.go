package demoshop

import (
	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
)

// warranted are a watch that came back under its warranty, and one whose card was declared void.
func (b *book) warranted() {
	b.tideway()
	b.tidewayAgain()
	b.fieldAgain()
	b.openedByOthers()
}

func (b *book) tideway() {
	good := sound(pellAuto)
	b.open("omalley-tideway", arrival{back: 250, clock: "11:05", customer: "omalley", watch: "omalley tideway",
		wanted:    docket.WantedService,
		complaint: "Stops overnight although she wears it all day.", declared: 60000, limit: 10000, dueDays: 30,
		marks: []watch.ConditionMark{marked(watch.PartCrystal, watch.MarkScratch, 0.6, 0.35, "several, fine"),
			marked(watch.PartBracelet, watch.MarkScratch, 0.5, 0.05, "")}}).
		photographed(staff.Clerk, photo.OfCondition, steelBlack, "As handed in; crystal scratched").
		on(249, "09:20").toBench().
		found(seen(diagnosis.AutomaticWork, "reverser worn", diagnosis.Require, "Turns both ways under the loupe."),
			seen(diagnosis.Mainspring, "bridle worn", diagnosis.Require, ""),
			seen(diagnosis.CaseAndSeals, "gasket hardened", diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.dirty().swinging(206), bothDays).
		diagnosed().
		on(248, "10:30").drafted("", labour("Full service of the automatic movement", 24000),
		material("Reversing wheel", 4600),
		material("Mainspring with bridle", 3200), material("Set of seals", 1800),
		offered(material("Sapphire crystal", 7500))).
		sent().
		on(247, "13:00").answeredByLink(true, "Yes to all of it, the crystal too.").
		on(246, "09:30").needs(piece("Reversing wheel", "PW24A-1488", stock.OldPartToReturn), piece("Mainspring with bridle",
		"PW24A-771", stock.OldPartToReturn),
		piece("Sapphire crystal", "P-2410 X", stock.OldPartLeft)).
		ordered(pellDesk, "Reversing wheel", "Mainspring", "Sapphire crystal").toParts().
		on(240, "11:20").came("Reversing wheel", "Mainspring", "Sapphire crystal").
		on(239, "09:20").toService().stripped(100, "").fitted("Reversing wheel", "Mainspring").
		on(238, "09:20").rebuilt(150, "", service.StepMainspring, service.StepSeals).fitted("Sapphire crystal").
		photographed(staff.Watchmaker, photo.OfWork, movementRotor, "Rebuilt, before casing").
		toRegulation().
		after(40*minute).measured(timing.AfterService, "", good.going(13).outOfBeat(0.9), fullWind).
		adjusted("In beat, regulator moved", good.going(5)).
		on(236, "10:00").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(234, "09:30").tested(staff.Watchmaker, passes(43, 5, true), "").
		toReady().
		on(232, "16:45").pays(docket.Card).collected(docket.OldPartsReturned).
		on(231, "09:10").card(0)
}

// tidewayAgain is on the bench now: the amplitude fell again within the year.
func (b *book) tidewayAgain() {
	good := sound(pellAuto)
	b.open("omalley-again", arrival{back: 20, clock: "10:25", customer: "omalley", watch: "omalley tideway",
		wanted:    docket.WantedWarranty,
		complaint: "It stops overnight again, like before you repaired it. She has the card with her.", declared: 60000,
		dueDays:  24,
		comeback: "omalley-tideway", marks: []watch.ConditionMark{unplaced(watch.PartBracelet, watch.MarkScratch,
			"as before")}}).
		on(19, "09:10").toBench().
		found(seen(diagnosis.AutomaticWork, "screws loose", diagnosis.Require, "The bridge of the reversing wheel lifts: "+
			"our own work. No charge.")).
		readCautions().
		cameBack(staff.Watchmaker, comeback.Said{Cause: comeback.Workmanship, Found: "A screw of ours stood on the plate, so the bridge worked loose.",
			Cover: docket.Covered, Why: "It was our own work."}).
		after(1*hour).measured(timing.AsReceived, "", good.swinging(224).going(-6), bothDays).
		diagnosed().
		on(18, "11:00").drafted("Under warranty.", labour("Automatic work taken off, tightened and secured", 0)).
		sent().
		after(2*hour).answeredOnThePhone("").
		on(16, "09:30").toService().worked(55, "Screw shortened by a hair: it had stood on the plate.", service.StepLetDown,
		service.StepUncase, service.StepInspect, service.StepCaseUp).
		toRegulation().
		after(30*minute).measured(timing.AfterService, "", good.going(10.5), fullWind).
		on(14, "10:10").adjusted("Regulator moved", good.going(5.5)).
		on(13, "10:15").listenedTo(good.going(5.5), timing.DialUp, 24)
}

// fieldAgain came back with nothing wrong, and went home again.
func (b *book) fieldAgain() {
	b.open("tannock-again", arrival{back: 88, clock: "11:45", customer: "tannock", watch: "tannock field", wanted: docket.WantedWarranty,
		complaint: "Lost twelve minutes one night since you had it. Runs again now.", declared: 52000, dueDays: 14, comeback: "tannock-field"}).
		on(87, "09:15").toBench().
		found(seen(diagnosis.Escapement, "sound", diagnosis.Observe, "Runs as it left; crown was found pulled half out.")).
		readCautions().
		after(30*minute).measured(timing.AsReceived, "", sound(thackwood).going(4), bothDays).
		after(10*minute).cameBack(staff.Watchmaker, comeback.Said{Cause: comeback.NothingFound, Found: "Keeps the rates that it left with, over two days.",
		Cover: docket.Covered, Why: "Looking at it is part of the warranty."}).
		on(85, "10:30").withdrawn("Nothing is wrong with it. Mr Tannock takes it home and watches the crown.").
		on(84, "12:20").collected(docket.OldPartsNone)
}

// openedByOthers had its card declared void.
func (b *book) openedByOthers() {
	good := sound(ostrelle)
	b.open("strake-rose", arrival{back: 190, clock: "13:35", customer: "strake", watch: "strake rose",
		wanted:    docket.WantedService,
		complaint: "Does not wind: the crown turns and turns.", declared: 26000, dueDays: 30}).
		photographed(staff.Clerk, photo.OfCondition, smallGold, "As handed in").
		on(189, "09:20").toBench().
		photographed(staff.Watchmaker, photo.OfDiagnosis, partSpring, "Mainspring out of its barrel: the eye is torn").
		foundPictured(seen(diagnosis.Mainspring, "end slips or is torn", diagnosis.Require, "")).
		readCautions().
		move(staff.Watchmaker, docket.StageEstimate, safe, "It can’t be wound, so there is nothing to measure.").
		on(188, "10:30").drafted("", labour("Full service of the small movement", 19500), material("Mainspring", 3400)).
		sent().
		on(187, "12:40").answeredByLink(true, "").
		on(186, "09:30").needs(piece("Mainspring", "OS5-770", stock.OldPartToReturn)).ordered(ostrelSpare,
		"Mainspring").toParts().
		on(178, "11:15").came("Mainspring").
		on(177, "09:30").toService().stripped(80, "").fitted("Mainspring").
		rebuilt(130, "", service.StepMainspring).
		on(176, "09:30").toRegulation().
		after(30*minute).measured(timing.AfterService, "", good.going(17).outOfBeat(1.3), fullWind).
		adjusted("In beat", good).
		on(174, "10:30").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(172, "09:30").tested(staff.Watchmaker, passes(38, 0, false), "").
		toReady().
		on(170, "12:05").pays(docket.Card).collected(docket.OldPartsReturned).
		on(169, "09:10").card(0).
		on(101, "11:30").cardVoid("Shown to us with a regulator moved to its stop and the dust seal broken: opened " +
		"elsewhere, as Ms Strake confirms.")
}
