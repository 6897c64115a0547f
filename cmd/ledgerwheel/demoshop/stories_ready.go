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
	"ledgerwheel/domain/uncollected"
)

// nearlyDone are the watches at their final test and those that wait to be collected.
func (b *book) nearlyDone() {
	b.testUnderWay()
	b.dateSticks()
	b.readyAndPaid()
	b.readyOnTheOwnersWord()
	b.readyLongAgo()
}

// testUnderWay still runs down for its power reserve.
func (b *book) testUnderWay() {
	good := sound(ostrelle)
	under := passes(0, 0, false).With(finaltest.Result{Test: finaltest.PowerReserve})
	b.open("shiomi-briar", arrival{back: 22, clock: "11:35", customer: "shiomi", watch: "shiomi briar",
		wanted:    docket.WantedService,
		complaint: "母の時計です。(Her mother’s watch.) Loses ten minutes a day.", declared: 88000, dueDays: 30}).
		photographed(staff.Clerk, photo.OfCondition, smallGold, "As handed in").
		on(21, "09:30").toBench().
		found(seen(diagnosis.Train, "dirty", diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.dirty().going(-380), fullWind).
		diagnosed().
		on(20, "10:30").drafted("", labour("Full service of the small movement", 19500)).
		sent().
		on(19, "23:10").answeredByLink(true, "よろしくお願いします。").
		on(11, "09:20").toService().stripped(85, "").
		on(10, "09:30").rebuilt(135, "").
		toRegulation().
		after(30*minute).measured(timing.AfterService, "", good.going(16).outOfBeat(1.2), fullWind).
		adjusted("In beat, regulator moved", good).
		on(6, "10:00").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(2, "16:50").tested(staff.Watchmaker, under, "Wound full at ten to five; looked at again tomorrow evening.")
}

// dateSticks failed its final test yesterday.
func (b *book) dateSticks() {
	denm := sound(denmoor)
	sticks := passes(60.5, 3, true).With(finaltest.Result{Test: finaltest.DateChange, Outcome: finaltest.OutcomeFail,
		Note: "Hangs between 30 and 31: jumper dry on the disc."})
	b.open("wit-cutter", arrival{back: 25, clock: "12:15", customer: "hollerbeck", watch: "wit cutter",
		wanted:    docket.WantedService,
		complaint: "Eight years old, never opened. A service before a long journey.", declared: 320000, dueDays: 29}).
		photographed(staff.Clerk, photo.OfCondition, steelCream, "As handed in").
		on(24, "10:30").toBench().
		found(seen(diagnosis.Train, "dirty", diagnosis.Advise, "Oil thin at the escape wheel."),
			seen(diagnosis.Calendar, "date changes late or early", diagnosis.Observe, "Twenty minutes early.")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", denm.swinging(261).going(-2.5), bothDays).
		diagnosed().
		on(23, "14:30").drafted("", labour("Full service of the automatic movement", 32000), material("Set of seals", 2400)).
		sent().
		on(22, "08:10").answeredByLink(true, "").
		deposit(10000, docket.Transfer, "On account, as he wished.").
		on(12, "14:20").toService().stripped(110, "").
		on(8, "13:30").rebuilt(165, "", service.StepSeals).
		toRegulation().
		after(30*minute).measured(timing.AfterService, "", denm.going(5.2), fullWind).
		adjusted("Rim weights turned", denm).
		on(4, "10:10").measured(timing.Final, "", denm, bothDays).
		toFinalTest().
		on(1, "16:20").tested(staff.Watchmaker, sticks, "").
		jotted(staff.Watchmaker, "Jumper polished by the earlier repairer and too thin now: look whether a new one is to be had before the disc comes off.")
}

func (b *book) readyAndPaid() {
	good := sound(brackendiv)
	b.open("konstantinidou-skerry", arrival{back: 45, clock: "10:55", customer: "konstantinidou",
		watch: "konstantinidou skerry", wanted: docket.WantedService,
		complaint: "Του αδελφού της. (Her brother’s.) Full service before he ships out.", declared: 110000, dueDays: 32}).
		photographed(staff.Clerk, photo.OfCondition, diverBlue, "As handed in").
		on(44, "09:30").toBench().
		found(seen(diagnosis.Train, "dirty", diagnosis.Require, ""), seen(diagnosis.CaseAndSeals, "gasket hardened",
			diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.dirty(), bothDays).
		diagnosed().
		on(43, "10:30").drafted("", labour("Full service of the automatic movement", 29500), material("Set of seals", 3600)).
		sent().
		on(42, "12:00").answeredByLink(true, "Ευχαριστώ!").
		deposit(15000, docket.Card, "Half beforehand, as he will be at sea.").
		on(41, "09:30").needs(piece("Set of seals", "BH-S 34", stock.OldPartNone)).fromDrawer("Set of seals").
		on(25, "14:10").toService().stripped(110, "").
		on(24, "13:30").rebuilt(155, "", service.StepSeals).fitted("Set of seals").
		photographed(staff.Watchmaker, photo.OfWork, movementRotor, "Rebuilt, before casing").
		toRegulation().
		after(30*minute).measured(timing.AfterService, "", good.going(11), fullWind).
		adjusted("Regulator moved", good).
		on(20, "10:00").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(13, "09:30").tested(staff.Watchmaker, passes(46.5, 12.5, true),
		"Dry at 2 bar, then in water a quarter over the mark.").
		toReady().told(message.Text, "").
		on(3, "09:30").card(0)
}

// readyOnTheOwnersWord runs short of its reserve, and its owner knows why.
func (b *book) readyOnTheOwnersWord() {
	good := sound(vintermoor)
	short := passes(0, 0, false).With(finaltest.Result{Test: finaltest.PowerReserve, Outcome: finaltest.OutcomeFail,
		Figure: 33, HasFigure: true,
		Note: "Barrel arbor worn oval; the new spring slips before it is full."})
	b.open("sorley-consul", arrival{back: 36, clock: "13:25", customer: "sorley", watch: "sorley consul",
		wanted:    docket.WantedService,
		complaint: "His late wife’s. Wants to hear it tick; need not be exact.", declared: 22000, dueDays: 40}).
		on(35, "11:00").toBench().
		found(seen(diagnosis.Mainspring, "broken", diagnosis.Require, ""), seen(diagnosis.Barrel, "arbor worn in its hole",
			diagnosis.Advise, "")).
		readCautions().
		move(staff.Watchmaker, docket.StageEstimate, safe, "The mainspring is broken: nothing to measure.").
		on(34, "14:30").drafted("The barrel arbor would have to be made; we think it can wait.",
		labour("Full service of the movement", 18500), material("Mainspring", 3200)).
		sent().
		on(30, "12:10").answered(true, "By letter.").
		on(24, "11:30").needs(piece("Mainspring", "VM8-770",
		stock.OldPartToReturn)).fromDrawer("Mainspring").toService().stripped(80, "").fitted("Mainspring").
		on(23, "16:00").rebuilt(120, "", service.StepMainspring).
		on(21, "14:20").toRegulation().
		after(30*minute).measured(timing.AfterService, "", good.going(-18), fullWind).
		on(15, "10:10").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(9, "14:30").tested(staff.Watchmaker, short, "").
		after(1*hour).move(staff.Owner, docket.StageReady, safe,
		"Runs 33 of 38 hours. Captain Sorley winds it each morning and does not want an arbor made; he was told on the "+
			"telephone today.").told(message.Letter, "")
}

// readyLongAgo was told to be ready weeks ago and is still not collected.
func (b *book) readyLongAgo() {
	good := sound(ostrelleA)
	b.open("penalver-merle", arrival{back: 66, clock: "16:20", customer: "penalver", watch: "penalver merle",
		wanted:    docket.WantedRegulation,
		complaint: "A few minutes slow each week.", limit: 8000, declared: 45000, dueDays: 14}).
		on(65, "10:20").toBench().
		found(seen(diagnosis.Hairspring, "sound", diagnosis.Observe, "")).
		readCautions().
		after(40*minute).measured(timing.AsReceived, "", good.going(-34), fullWind).
		diagnosed().
		drafted("", labour("Regulation in six positions", 4800)).
		toRegulation().
		on(63, "14:40").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(61, "15:30").tested(staff.Watchmaker, passes(39, 3, false), "").
		toReady().told(message.Text, "").
		after(5*minute).passedOn(staff.Clerk, "Text message sent.").
		on(40, "10:40").rang(staff.Clerk, message.Contact{Kind: message.NoAnswer}).
		on(33, "17:05").rang(staff.Clerk, message.Contact{Kind: message.LeftMessage, Words: "That the watch is ready and the shop is open on Saturdays."}).
		on(30, "11:20").disputed("She wrote that the regulation was to be free.").
		on(28, "15:00").settled("She found the ticket, which says otherwise, and pays.").
		on(26, "10:00").letter(uncollected.CollectNotice, "Your watch waits for you", "Your Ostrelle Merle has been ready to collect for some weeks. "+
		"Please collect it with your claim ticket, or tell us how we may get it to you.").
		after(2*hour).posted("TQ 0014 7721").
		on(9, "10:30").letter(uncollected.FormalNotice, "Formal notice: please collect your watch", "Your Ostrelle Merle is still with us. The sum due is £48.00. "+
		"Please collect it with your claim ticket within three months of this letter.").
		after(1 * hour).posted("TQ 0014 9038")
}
