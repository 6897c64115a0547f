package demoshop

import (
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
)

// onTheBench are the watches under service and regulation.
func (b *book) onTheBench() {
	b.secondPocketWatch()
	b.dialSentOut()
	b.skerry()
	b.officeCutter()
	b.stubbornPoise()
}

func (b *book) secondPocketWatch() {
	good := sound(skerrow43)
	b.open("veresova-pocket", arrival{back: 17, clock: "10:20", customer: "veresova", watch: "veresova pocket",
		wanted:    docket.WantedService,
		complaint: "Часы прадеда. (Her great-grandfather’s.) After the wrist watch came out so well she brings this one.",
		declared:  45000, dueDays: 45,
		marks: []watch.ConditionMark{marked(watch.PartCrystal, watch.MarkCrack, 0.6, 0.4, ""),
			marked(watch.PartDial, watch.MarkCrack, 0.4, 0.6, "hair line by 8, enamel")}}).
		photographed(staff.Clerk, photo.OfCondition, pocketWhite, "As handed in; hair line by 8").
		on(16, "11:30").toBench().
		photographed(staff.Watchmaker, photo.OfDiagnosis, movementOld, "Varnished oil; an old scratch beside the barrel").
		foundPictured(seen(diagnosis.Train, "dirty", diagnosis.Require, "")).
		found(seen(diagnosis.Mainspring, "set", diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.dirty().swinging(188), fullWind).
		diagnosed().
		on(15, "14:20").drafted("", labour("Full service of the movement", 22000), material("Mainspring", 3800),
		material("Crystal, cut to the bezel", 5200)).
		sent().
		on(13, "16:20").answeredByLink(true, "").
		on(12, "10:30").needs(piece("Mainspring", "SK43-770", stock.OldPartToReturn), piece("Crystal", "cut to size",
		stock.OldPartLeft)).
		ordered(coldharbour, "Mainspring", "Crystal").toParts().
		on(5, "11:20").came("Mainspring", "Crystal").
		on(3, "09:20").toService().stripped(100, "Plate signed inside by a Saltby hand, 1903; photographed.").
		photographed(staff.Watchmaker, photo.OfWork, partSpring, "Old mainspring beside its barrel").
		on(1, "09:30").worked(70, "Barrel and train together; balance to follow.", service.StepMainspring,
		service.StepReassemble).fitted("Mainspring")
}

// dialSentOut lies with the dial restorer, sealed, for its lume.
func (b *book) dialSentOut() {
	good := sound(thackwood)
	b.open("darcy-field", arrival{back: 34, clock: "11:00", customer: "darcy", watch: "darcy field",
		wanted:    docket.WantedService,
		complaint: "Her grandfather wore it at sea. Runs poorly; the lume falls off.", declared: 90000, dueDays: 60,
		marks: []watch.ConditionMark{unplaced(watch.PartDial, watch.MarkStain, ""), marked(watch.PartCase, watch.MarkDent,
			0.25, 0.7, "")}}).
		photographed(staff.Clerk, photo.OfCondition, fieldBlack, "As handed in; lume crumbling").
		on(33, "09:20").toBench().
		found(seen(diagnosis.DialAndHands, "lume crumbling", diagnosis.Require,
			"Radium. For a licensed workshop, not for us."), seen(diagnosis.Escapement, "dry", diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.dirty().wornPivots(), fullWind).
		diagnosed().
		on(31, "11:20").drafted("The dial is sealed here and treated by a workshop licensed for it.",
		labour("Full service of the movement", 18500), outside("Dial and hands made safe, licensed workshop", 26000)).
		sent().
		on(29, "10:20").answeredOnThePhone("She may be sent the old paint’s certificate.").
		on(28, "09:30").toService().stripped(85, "Opened in the glove box. Dial and hands sealed, labelled.").
		on(26, "10:00").put(staff.Watchmaker, sentTo(gannet))
}

func (b *book) skerry() {
	good := sound(brackendiv)
	b.open("adeyinka-skerry", arrival{back: 33, clock: "15:40", customer: "adeyinka", watch: "adeyinka skerry",
		wanted:    docket.WantedService,
		complaint: "His own, for daily wear. Gains in the morning and loses at night.", declared: 120000, dueDays: 30}).
		on(32, "09:30").toBench().
		found(seen(diagnosis.Hairspring, "regulator pins too open", diagnosis.Require, ""), seen(diagnosis.Train, "dirty",
			diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "Rate follows the amplitude", good.openPins().swinging(268).going(21),
		bothDays).
		diagnosed().
		on(30, "11:40").drafted("", labour("Full service of the automatic movement", 29500), material("Set of seals", 3600)).
		sent().
		on(29, "07:45").answeredByLink(true, "Go ahead please").
		on(28, "11:20").needs(piece("Set of seals", "BH-S 34", stock.OldPartNone)).fromDrawer("Set of seals").toService().
		stripped(120, "Escape wheel shows a burr on one tooth: a new one at our cost.").
		needs(piece("Escape wheel", "BH36-705", stock.OldPartToReturn)).ordered(marrow, "Escape wheel").
		on(9, "10:50").came("Escape wheel").
		on(4, "14:00").worked(45, "Escape wheel fitted, depth checked.", service.StepEscapement).
		fittedFor(stock.PayerCustomer, "Found under the escape cock; she was told by telephone.", "Escape wheel")
}

// officeCutter has a final run whose mean lies within its uncertainty of the limit.
func (b *book) officeCutter() {
	denm := sound(denmoor)
	b.open("trustees-office", arrival{back: 19, clock: "12:40", customer: "harbour", watch: "trustees office",
		wanted:    docket.WantedRegulation,
		order:     "SHT 2026/114",
		complaint: "The second of the pair, from the office wall hook. Should keep with the pilot boat’s.", limit: 9000,
		declared: 240000, dueDays: 18}).
		on(18, "14:10").toBench().
		found(seen(diagnosis.Hairspring, "sound", diagnosis.Observe, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", denm.going(-13.2), fullWind).
		diagnosed().
		on(16, "14:30").drafted("", labour("Regulation in six positions, with report", 6500)).
		toRegulation().
		on(13, "11:40").adjusted("Rim weights turned", denm.going(7.6)).
		on(2, "14:20").measured(timing.Final, "Mean close under the upper limit: one more turn wanted", denm.going(6.26),
		bothDays)
}

// stubbornPoise is a balance out of poise on its way down.
func (b *book) stubbornPoise() {
	good := sound(pellwarne)
	b.open("penhallow-warden", arrival{back: 26, clock: "10:45", customer: "penhallow", watch: "penhallow warden",
		wanted:    docket.WantedService,
		complaint: "Serviced in another town; since then it is never the same two days running.", declared: 34000,
		dueDays: 22}).
		photographed(staff.Clerk, photo.OfCondition, steelCream, "As handed in").
		on(25, "09:25").toBench().
		photographed(staff.Watchmaker, photo.OfDiagnosis, movementHand, "Balance side; screws marked by a wrong driver").
		foundPictured(seen(diagnosis.BalanceStaff, "roller loose", diagnosis.Require, "Put on askew; the balance was "+
			"never poised after.")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.swinging(279).going(9).heavyAt(7.2, 0.0088).outOfBeat(1.1),
		bothDays).
		diagnosed().
		on(23, "11:20").drafted("", labour("Full service of the movement", 18500), labour("Roller set, balance poised",
		8500)).
		sent().
		on(20, "18:40").answeredByLink(true, "").
		on(11, "11:30").toService().stripped(80, "").
		on(9, "09:30").rebuilt(130, "").
		toRegulation().
		after(30*minute).measured(timing.AfterService, "", good.going(12).heavyAt(7.2, 0.0071), fullWind).
		on(6, "10:20").adjusted("Screw at 7 lightened", good.going(9).heavyAt(6.6, 0.0034)).
		on(2, "10:30").adjusted("Washer under the screw at 1", good.going(6).heavyAt(6.2, 0.0019)).
		on(1, "10:40").listenedTo(good.going(6).heavyAt(6.2, 0.0019), timing.DialUp, 24).
		listenedTo(good.going(6).heavyAt(6.2, 0.0019), timing.SixUp, 24).
		listenedTo(good.going(6).heavyAt(6.2, 0.0019), timing.TwelveUp, 24)
}
