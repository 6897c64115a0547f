package demoshop

import (
	"ledgerwheel/domain/comeback"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
)

// beingPriced are the watches whose work is priced or waits for the customer's answer.
func (b *book) beingPriced() {
	good := sound(vintermoor)
	b.open("khudari-legation", arrival{back: 12, clock: "11:50", customer: "khudari", watch: "khudari legation",
		wanted:    docket.WantedService,
		complaint: "تتوقف الساعة في الليل. (It stops at night.) A gift of her father’s; please nothing polished.",
		declared:  280000, dueDays: 40,
		marks: []watch.ConditionMark{marked(watch.PartCase, watch.MarkWorn, 0.75, 0.7, "lugs soft; not to be polished")}}).
		photographed(staff.Clerk, photo.OfCondition, goldSilver, "As handed in; not to be polished").
		on(11, "09:20").toBench().
		photographed(staff.Watchmaker, photo.OfDiagnosis, movementHand, "Balance side").
		foundPictured(seen(diagnosis.Train, "dirty", diagnosis.Require, "Oil dry at every jewel.")).
		photographed(staff.Watchmaker, photo.OfDiagnosis, partBalance, "Spring: two outer coils touch").
		foundPictured(seen(diagnosis.Hairspring, "coils touch or stick", diagnosis.Require, "Bent near the stud.")).
		found(seen(diagnosis.CrownAndStem, "crown worn", diagnosis.Advise,
			"Gold crown, to be kept; the stem shows no wear.")).
		readCautions().
		after(2*hour).measured(timing.AsReceived, "", good.dirty().going(46), bothDays).
		diagnosed().
		on(9, "10:30").drafted("The hairspring is formed by hand; nothing of the case is touched.",
		labour("Full service of the movement", 18500), labour("Hairspring formed and centred", 7500),
		offered(labour("Crown re-cut, the old one returned", 5800))).
		after(30*minute).sent().
		on(7, "19:50").asks("Is the crown re-cut here, or sent away?").
		on(6, "09:20").tells("Here, on our own lathe. The old one goes back to you with the watch.").
		on(2, "20:35").asks("May I decide about the crown when I collect it?")

	b.roseRaces()

	pell := sound(pellwarne)
	b.open("penalver-warden", arrival{back: 6, clock: "17:00", customer: "penalver", watch: "penalver warden",
		wanted:    docket.WantedRepair,
		complaint: "The crown comes out in her fingers when she sets it.", declared: 30000, dueDays: 18}).
		on(5, "10:10").toBench().
		found(seen(diagnosis.CrownAndStem, "will not hold its position", diagnosis.Require, "Setting lever screw stripped."),
			seen(diagnosis.CaseAndSeals, "gasket hardened", diagnosis.Advise, "")).
		readCautions().
		after(30*minute).measured(timing.AsReceived, "", pell.going(-4).swinging(251), fullWind).
		diagnosed().
		on(3, "11:15").drafted("", labour("Keyless work taken down, setting lever and screw replaced", 9500),
		material("Setting lever and screw", 2700), offered(material("Case gasket", 1200)))

	b.open("mumford-again", arrival{back: 8, clock: "10:30", customer: "pontcarre", watch: "mumford plain",
		wanted:    docket.WantedCase,
		complaint: "Took a knock at the boatyard; glass loose. Still keeps time since you set it. Is that under warranty?", limit: 9000, dueDays: 14,
		comeback: "mumford-plain",
		marks: []watch.ConditionMark{marked(watch.PartCrystal, watch.MarkCrack, 0.5, 0.32, ""),
			marked(watch.PartCase, watch.MarkDent, 0.3, 0.2, "")}}).
		on(7, "11:00").toBench().
		found(seen(diagnosis.CaseAndSeals, "crystal cracked", diagnosis.Require, "")).
		readCautions().
		cameBack(staff.Watchmaker, comeback.Said{Cause: comeback.Accident, Found: "A knock from the side; dent beside the crack.",
			Cover: docket.NotCovered, Why: "A knock is not our work, and the warranty is on our work."}).
		after(20*minute).measured(timing.AsReceived, "", pell.going(3.5), fullWind).
		diagnosed().
		drafted("", labour("Crystal fitted, tested at 3 bar", 3800), material("Crystal", 2600))

	small := sound(ostrelleA)
	b.open("ostergard-merle", arrival{back: 13, clock: "14:45", customer: "ostergard", watch: "ostergard merle",
		wanted:    docket.WantedService,
		complaint: "Runs down by the evening since spring.", declared: 61000, dueDays: 28,
		marks: []watch.ConditionMark{marked(watch.PartCase, watch.MarkCorrosion, 0.2, 0.5,
			"green at the lugs, as bronze does")}}).
		photographed(staff.Clerk, photo.OfCondition, smallGold, "As handed in").
		on(12, "09:15").toBench().
		found(seen(diagnosis.AutomaticWork, "does not wind", diagnosis.Require, "Pawl spring weak."),
			seen(diagnosis.Train, "dirty", diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", small.dirty(), bothDays).
		diagnosed().
		on(10, "10:20").drafted("", labour("Full service of the automatic movement", 23500), material("Pawl spring", 2200),
		offered(labour("Bronze case cleaned by hand", 4500))).
		sent().
		on(5, "15:40").asked(staff.Watchmaker, message.Telephone, "May the crown be changed for the maker’s new one, which is a little larger?").
		on(3, "11:10").rang(staff.Clerk, message.Contact{Kind: message.NoAnswer}).
		on(1, "08:55").answeredByLink(true, "Please leave the bronze as it is.", 2)

	b.open("lukowska-consul", arrival{back: 16, clock: "12:05", customer: "lukowska", watch: "lukowska consul",
		wanted:    docket.WantedRepair,
		complaint: "Limps: tick, then tock a little late. Stops if laid down hard.", declared: 28000, dueDays: 21}).
		on(15, "11:10").toBench().
		found(seen(diagnosis.Hairspring, "out of true at the collet", diagnosis.Require, "")).
		readCautions().
		after(50*minute).measured(timing.AsReceived, "", good.going(-12).outOfBeat(5.6), fullWind).
		diagnosed().
		on(14, "10:20").drafted("", labour("Hairspring trued at the collet, put in beat", 8800)).
		sent().
		on(9, "18:30").answeredByLink(false, "If it is open already, could you clean it too? Then I would say yes.").
		on(8, "11:20").drafted("With the full service you asked for; the collet is then done in the same hands.",
		labour("Full service of the movement", 18500), labour("Hairspring trued at the collet, put in beat", 8800),
		lessBy("Done together", 3300)).
		sent().told(message.Text, "").
		after(3*minute).passedOn(staff.Clerk, "Text message sent.")
}

// roseRaces waits for its work to be priced.
func (b *book) roseRaces() {
	b.open("strake-rose-again", arrival{back: 5, clock: "12:10", customer: "strake", watch: "strake rose",
		wanted: docket.WantedRepair,
		complaint: "A jeweller in the city opened it to ‘speed it up a little’. Now it races. Knows that this is no " +
			"matter of warranty.", declared: 26000, dueDays: 25}).
		on(4, "13:30").toBench().
		found(seen(diagnosis.Hairspring, "coils touch or stick", diagnosis.Require,
			"Outer coil caught behind the regulator pin."),
			seen(diagnosis.Escapement, "sound", diagnosis.Observe, "")).
		readCautions().
		after(40*minute).measured(timing.AsReceived, "", sound(ostrelle).going(412).swinging(236).outOfBeat(1.8), fullWind).
		diagnosed()
}
