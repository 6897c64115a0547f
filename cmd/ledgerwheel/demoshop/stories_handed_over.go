package demoshop

import (
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/finaltest"
	"ledgerwheel/domain/invoice"
	"ledgerwheel/domain/parcel"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/stock"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
)

// handedOver are the watches that went home repaired.
func (b *book) handedOver() {
	b.pocketWatch()
	b.trusteesCutter()
	b.wornOutField()
	b.balanceOutOfPoise()
	b.regulatedOnly()
	b.leaksForGood()
	b.leakedOnce()
	b.magnetised()
	b.backAcrossTheSea()
	b.taxedAtTheBuyers()
}

// pocketWatch is the first docket: a full service under a short warranty, which is over by now.
func (b *book) pocketWatch() {
	good := sound(skerrow43)
	b.open("sorley-pocket", arrival{back: tellingBack, clock: "10:12", customer: "sorley", watch: "sorley pocket",
		wanted:    docket.WantedService,
		complaint: "Was his grandfather’s. Wound it last winter for the first time in years; runs an hour or two and stops.",
		declared:  38000, dueDays: 42, marks: []watch.ConditionMark{
			marked(watch.PartCrystal, watch.MarkCrack, 0.62, 0.44, "from the edge at 4 towards the centre"),
			marked(watch.PartCase, watch.MarkWorn, 0.5, 0.85, "milling rubbed smooth")}}).
		photographed(staff.Clerk, photo.OfCondition, pocketWhite, "As handed in; crack in the crystal").
		on(tellingBack-1, "09:20").toBench().
		found(seen(diagnosis.Mainspring, "tired: too weak", diagnosis.Require, "Blue steel, set to a third of the barrel."),
			seen(diagnosis.Train, "dirty", diagnosis.Require, "Oil gone to varnish on the centre and third pivots.")).
		photographed(staff.Watchmaker, photo.OfDiagnosis, movementOld, "Oil dried around the train jewels").
		found(seen(diagnosis.CaseAndSeals, "crystal cracked", diagnosis.Advise, "")).
		readCautions().
		after(3*hour).measured(timing.AsReceived, "Stopped in 12H, wound again", good.dirty().swinging(171), fullWind).
		diagnosed().
		on(tellingBack-3, "11:30").drafted("The crystal is a shape no longer made; ours is cut to the old one.",
		labour("Full service of the movement", 22000), material("Mainspring", 3800),
		offered(material("Crystal, cut to the bezel", 5200))).
		after(20*minute).sent().
		on(tellingBack-8, "14:05").answered(true, "By letter, with his thanks.").
		toService().
		on(tellingBack-10, "09:30").stripped(95, "Old repair on the click spring, sound.").
		needs(piece("Mainspring", "SK43-770", stock.OldPartToReturn)).
		ordered(coldharbour, "Mainspring").
		on(tellingBack-17, "10:00").came("Mainspring").fitted("Mainspring").
		rebuilt(140, "", service.StepMainspring).
		on(tellingBack-18, "09:40").toRegulation().
		after(30*minute).measured(timing.AfterService, "", good.going(-31).outOfBeat(1.7), fullWind).
		adjusted("Collet turned on the staff, regulator moved", good.going(3)).
		on(tellingBack-20, "10:10").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(tellingBack-22, "09:30").tested(staff.Watchmaker, passes(37.5, 0, false), "").
		toReady().
		on(tellingBack-25, "15:10").pays(docket.Cash).collected(docket.OldPartsReturned).
		on(tellingBack-26, "09:15").card(6)
}

// trusteesCutter is a watch regulated to chronometer style and handed over with a card that still runs.
func (b *book) trusteesCutter() {
	good := sound(denmoor)
	b.open("trustees-deck", arrival{back: 281, clock: "11:40", customer: "harbour", watch: "trustees deck",
		wanted:    docket.WantedRegulation,
		complaint: "The pilot boat’s watch gains more than a minute a week against the signal. Needed back before the season.",
		limit:     9000, declared: 240000, dueDays: 21}).
		photographed(staff.Clerk, photo.OfCondition, steelCream, "As handed in").
		on(280, "09:05").toBench().
		found(seen(diagnosis.Hairspring, "sound", diagnosis.Observe, "No magnetism, coils free and flat.")).
		readCautions().
		after(2*hour).measured(timing.AsReceived, "", good.going(11.6).outOfBeat(0.6), fullWind).
		diagnosed().
		on(279, "10:15").drafted("", labour("Regulation in six positions, with report", 6500)).
		toRegulation().
		on(278, "10:00").adjusted("Weights on the rim turned", good.going(2.6)).
		on(276, "11:00").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(272, "09:20").tested(staff.Watchmaker, passes(62, 10, true), "").
		toReady().
		on(270, "16:05").pays(docket.Transfer).
		collectedBy("Iona Keel, harbour office", docket.ShownAuthority, "Letter of the harbour master; her pass shown.", docket.OldPartsNone).
		on(269, "09:30").card(0)
}

// wornOutField has radium lume whose cautions were read, and a card issued again for a serial misread.
func (b *book) wornOutField() {
	good := sound(thackwood)
	b.open("tannock-field", arrival{back: 228, clock: "14:20", customer: "tannock", watch: "tannock field",
		wanted:    docket.WantedRepair,
		complaint: "Dropped on the slipway. It ticks but the hands stand still when it hangs.", declared: 52000, dueDays: 35,
		marks: []watch.ConditionMark{marked(watch.PartCase, watch.MarkDent, 0.78, 0.6, "at 4, from the fall"),
			unplaced(watch.PartDial, watch.MarkStain, "lower half, old moisture")}}).
		photographed(staff.Clerk, photo.OfCondition, fieldBlack, "Dial stained below; glass whole").
		on(227, "09:10").toBench().
		found(seen(diagnosis.BalanceStaff, "pivot bent", diagnosis.Require, "Lower pivot, seen turning under the loupe."),
			seen(diagnosis.DialAndHands, "lume crumbling", diagnosis.Observe, "Left alone. Survey meter: well above "+
				"background over the dial.")).
		readCautions().
		after(2*hour).measured(timing.AsReceived, "", good.swinging(214).wornPivots().outOfBeat(2.8), fullWind).
		diagnosed().
		on(225, "11:00").drafted("The lume holds radium: dial and hands go back as they are, cleaned around and not on.",
		labour("New balance staff, poised and in beat", 16500), labour("Full service of the movement", 18500)).
		after(15*minute).sent().
		on(223, "10:30").answered(true, "").
		on(222, "09:30").needs(piece("Balance staff", "TW10-723", stock.OldPartToReturn)).
		ordered(marrow, "Balance staff").toParts().
		on(211, "11:10").came("Balance staff").
		on(210, "09:20").toService().stripped(90, "Opened in the glove box; dial boxed and labelled at once.").
		fittedFor(stock.PayerEstimate, "New balance staff, poised and in beat", "Balance staff").
		on(209, "09:30").rebuilt(150, "Staff riveted, wheel trued in the round.").
		toRegulation().
		after(40*minute).measured(timing.AfterService, "Before poising", good.going(14).heavyAt(4, 0.0062), fullWind).
		on(208, "10:00").adjusted("Poised: two screws at 4 lightened", good.going(9).heavyAt(4, 0.0021)).
		on(206, "10:00").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(204, "10:20").tested(staff.Watchmaker, passes(41, 0, false), "").
		toReady().
		on(202, "12:15").pays(docket.Cash).collected(docket.OldPartsReturned).
		on(201, "09:15").card(0).
		on(193, "10:40").corrected(func(w *watch.Watch) { w.Serial = "T/1183 68" }).
		cardAgain("The last figure of the case serial was misread: it is an 8, as Mr Tannock showed us.")
}

// balanceOutOfPoise took two adjustments, with readings that were mistyped and put right.
func (b *book) balanceOutOfPoise() {
	good := sound(vintermoor)
	b.open("veresova-wm", arrival{back: 150, clock: "10:35", customer: "veresova", watch: "veresova wm",
		wanted:    docket.WantedService,
		complaint: "Loses when worn and gains on the night table. Never serviced while she has had it.", declared: 42000,
		dueDays: 40,
		marks:   []watch.ConditionMark{marked(watch.PartCrown, watch.MarkWorn, 0.93, 0.5, "plating through")}}).
		on(149, "09:15").toBench().
		found(seen(diagnosis.BalanceStaff, "sound", diagnosis.Observe, ""),
			seen(diagnosis.Escapement, "dry", diagnosis.Require, "Pallet stones dry, no wear.")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.going(6).swinging(284).heavyAt(9.4, 0.0105), bothDays).
		diagnosed().
		on(148, "11:45").drafted("The four hanging positions differ by more than a minute a day: the balance has a heavy spot.",
		labour("Full service of the movement", 18500), labour("Balance poised on the calliper", 6500)).
		sent().
		on(146, "17:05").answeredByLink(true, "Спасибо! Please go ahead.").
		on(145, "09:30").toService().stripped(80, "").
		on(144, "09:30").rebuilt(120, "").
		toRegulation().
		after(40*minute).measured(timing.AfterService, "", good.going(2).heavyAt(9.4, 0.0098), fullWind).
		on(143, "10:00").adjusted("Poised statically, screw at 9 lightened", good.going(11).heavyAt(8.9, 0.0042)).
		adjusted("Screw opposite washered", good.going(8).heavyAt(8.5, 0.0016)).
		on(141, "10:20").measured(timing.Final, "", good.heavyAt(8.5, 0.0015), bothDays).
		reread(timing.NineUp, 24, 2.6).
		toFinalTest().
		on(139, "09:30").tested(staff.Watchmaker, passes(39, 0, false), "").
		toReady().
		on(136, "11:25").collectedPaying(docket.Tender{Way: docket.PayInParts, Given: 10000, Card: 15000}, docket.OldPartsNone).
		on(135, "09:20").card(0)
}

// regulatedOnly stayed within the approval limit: nobody had to be asked, and no card was wanted.
func (b *book) regulatedOnly() {
	good := sound(pellwarne)
	b.open("mumford-plain", arrival{back: 120, clock: "12:30", customer: "pontcarre", watch: "mumford plain",
		wanted:    docket.WantedRegulation,
		complaint: "Half a minute fast every day since the battery clock at home was set right.", limit: 7500, dueDays: 10}).
		on(119, "09:20").toBench().
		found(seen(diagnosis.Hairspring, "regulator pins too open", diagnosis.Advise, "Closed on the bench.")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.going(31), fullWind).
		diagnosed().
		drafted("", labour("Regulation in six positions", 4800)).
		toRegulation().
		on(117, "10:30").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(115, "09:30").tested(staff.Watchmaker, passes(44.5, 3, false), "").
		toReady().
		on(113, "13:10").pays(docket.Cash).collected(docket.OldPartsNone)
}

// leaksForGood went out on the owner's word: its old gold case can't be made tight, and its wearer knows.
func (b *book) leaksForGood() {
	good := sound(vintermoor)
	leaks := passes(38.5, 0, false).With(finaltest.Result{Test: finaltest.WaterResistance, Outcome: finaltest.OutcomeFail,
		Figure: finaltest.DryOverpressureBar, HasFigure: true,
		Medium: finaltest.MediumAir, Note: "Leaks at the tube of the crown, which is part of the case."})
	b.open("darcy-gold", arrival{back: 96, clock: "15:15", customer: "darcy", watch: "darcy gold",
		wanted:    docket.WantedService,
		complaint: "Her mother’s. For wearing to the regatta dinner; has stood in a drawer.", declared: 310000, dueDays: 28}).
		photographed(staff.Clerk, photo.OfCondition, goldSilver, "As handed in").
		on(95, "09:20").inHands(staff.Owner).toBench().
		found(seen(diagnosis.Train, "dirty", diagnosis.Require, ""), seen(diagnosis.CaseAndSeals, "case tube worn",
			diagnosis.Advise, "Soldered to the gold: not to be replaced without harm.")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.dirty(), fullWind).
		diagnosed().
		on(94, "10:10").drafted("", labour("Full service of the movement", 18500), material("Crown with seal", 4200)).
		sent().
		on(93, "19:40").answeredByLink(true, "").
		on(92, "09:30").toService().stripped(75, "").needs(piece("Crown with seal", "VM-C 55",
		stock.OldPartToReturn)).fromDrawer("Crown").fitted("Crown").
		on(91, "09:30").rebuilt(110, "").
		toRegulation().
		on(89, "10:40").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(88, "10:00").tested(staff.Owner, leaks, "Tested at 2 bar in air as the mark asks.").
		after(20*minute).move(staff.Owner, docket.StageReady, safe,
		"The tube belongs to the case and can't be renewed without cutting the gold. Mrs D’Arcy-Quill was told and will "+
			"keep it from water.").
		on(86, "12:20").pays(docket.Card).collected(docket.OldPartsReturned).
		on(85, "09:40").card(0).
		on(82, "10:25").credited("The new crown can’t make the worn tube tight, so it goes off her bill.", 1).
		on(82, "11:05").givenBack(4200, docket.Card, "The crown, by credit note.")
}

// leakedOnce failed its final test, went back for a gasket, and passed.
func (b *book) leakedOnce() {
	good := sound(brackendiv)
	leaks := passes(46, 0, true).With(finaltest.Result{Test: finaltest.WaterResistance, Outcome: finaltest.OutcomeFail,
		Figure: finaltest.DryOverpressureBar, HasFigure: true,
		Medium: finaltest.MediumAir, Note: "Falls by more than 50 µg a minute: at the crystal."})
	b.open("pilot-diver", arrival{back: 70, clock: "09:45", customer: "harbour", watch: "pilot diver",
		wanted:    docket.WantedService,
		complaint: "Pilot’s own watch. Mist under the crystal after a night on deck.", declared: 180000, dueDays: 30,
		marks: []watch.ConditionMark{marked(watch.PartCase, watch.MarkScratch, 0.2, 0.42, "bezel, left side"),
			unplaced(watch.PartBracelet, watch.MarkWorn, "clasp springs weak")}}).
		photographed(staff.Clerk, photo.OfCondition, diverBlue, "As handed in").
		on(69, "09:10").toBench().
		photographed(staff.Watchmaker, photo.OfDiagnosis, partSeals, "Old gasket, hardened and cracked").
		foundPictured(seen(diagnosis.CaseAndSeals, "gasket hardened", diagnosis.Require, "")).
		found(seen(diagnosis.AutomaticWork, "rotor bearing worn", diagnosis.Advise, "Slight play, no rubbing yet.")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.going(-9).dirty(), bothDays).
		diagnosed().
		on(68, "11:30").drafted("", labour("Full service of the automatic movement", 29500), material("Set of seals", 3600),
		offered(material("Rotor bearing", 6400))).
		sent().
		on(66, "08:50").answeredByLink(true, "Bearing can wait for the next service.", 2).
		on(66, "10:15").asksDeposit(15000).
		on(65, "09:05").deposit(15000, docket.Transfer, "On the deposit invoice.").
		on(65, "09:30").needs(piece("Set of seals", "BH-S 36", stock.OldPartNone)).fromDrawer("Set of seals").
		on(64, "09:20").toService().stripped(110, "").
		on(63, "09:20").rebuilt(160, "", service.StepSeals, service.StepCase).fitted("Set of seals").
		toRegulation().
		on(61, "10:30").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(60, "09:30").tested(staff.Watchmaker, leaks, "").
		move(staff.Watchmaker, docket.StageParts, safe, "").
		needs(piece("Crystal gasket", "BH-G 301", stock.OldPartNone)).ordered(coldharbour, "Crystal gasket").
		on(54, "11:00").came("Crystal gasket").
		toService().worked(40, "Crystal pressed out, seat cleaned, new gasket.", service.StepSeals,
		service.StepCaseUp).fittedFor(stock.PayerShop, "The new one of the set was pinched at our bench.", "Crystal gasket").
		toRegulation().
		on(52, "10:00").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(51, "09:30").tested(staff.Watchmaker, passes(46, 25, true),
		"Dry at 2 bar, then in water a quarter over the mark.").
		toReady().
		on(51, "11:20").billed(invoice.Choices{}).
		on(49, "15:30").pays(docket.Transfer).
		sentByPost(parcel.Guess("Harbour Office", "Quay Street\nSaltby", "GB"), parcel.Posting{Number: "EI 7719 0042 GB",
			Proof: "Receipt 118, in the folder of the month"}, 180000, docket.OldPartsNone).
		on(48, "09:10").card(0)
}

// magnetised was mended in an hour; the owner charged less than was agreed.
func (b *book) magnetised() {
	good := sound(pellAuto)
	b.open("wit-daily", arrival{back: 40, clock: "10:50", customer: "hollerbeck", watch: "wit daily", wanted: docket.WantedAdvice,
		complaint: "Three minutes fast in a day, since a week ago. New loudspeakers, if that has anything to do with it.",
		limit:     8000, dueDays: 7}).
		on(39, "09:15").toBench().
		found(seen(diagnosis.Hairspring, "magnetised", diagnosis.Require,
			"Coils cling at the stud side; compass needle swings.")).
		readCautions().
		after(30*minute).measured(timing.AsReceived, "Compass moves at the case", good.magnetised(), fullWind).
		diagnosed().
		drafted("", labour("Demagnetised and regulated in six positions", 5500)).
		toRegulation().
		worked(15, "Three passes; no needle moves now.", service.StepDemagnetise).
		on(37, "10:20").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(36, "09:20").tested(staff.Watchmaker, passes(42.5, 5, true), "").
		toReady().
		on(35, "10:10").charged(3000, "A quarter of an hour’s work, and he was patient.").
		pays(docket.Card).collected(docket.OldPartsNone)
}

// backAcrossTheSea came by post from another country and went back there: no tax is charged on work on what is exported after
// it, and the invoice says so. Which rule that is, and by which papers it is shown, is for the shop's adviser.
func (b *book) backAcrossTheSea() {
	good := sound(denmoor)
	b.open("vikhaug-cutter", arrival{back: 188, clock: "11:15", customer: "vikhaug", watch: "vikhaug cutter",
		wanted: docket.WantedService, complaint: "Loses half a minute a day; nobody at home has the tools for this one.", declared: 195000, dueDays: 42,
		byPost: &parcel.Arrival{Carrier: "Skerry Line Post", Number: "SL 0381 5520 NO", Sender: "A. Vikhaug", Seal: parcel.SealWhole, Box: parcel.BoxWhole,
			Things: 1, Contents: "watch in a padded box", Note: "With the customs paper for repair and return."}}).
		on(187, "09:25").toBench().
		found(seen(diagnosis.Train, "dirty", diagnosis.Require, "")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.dirty().going(-31), bothDays).
		diagnosed().
		on(186, "10:40").drafted("", labour("Full service of the automatic movement", 30000)).
		sent().
		on(185, "22:10").answeredByLink(true, "Takk! Please send it insured.").
		on(183, "09:30").toService().stripped(105, "").
		on(182, "09:30").rebuilt(150, "").
		toRegulation().
		on(180, "10:20").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(178, "09:40").tested(staff.Watchmaker, passes(61.5, 10, true), "").
		toReady().
		on(178, "15:10").billed(invoice.Choices{Treatment: invoice.Exempt,
		Sentence: "Work on goods that leave the country after it: no VAT is charged. Customs paper 26-0381 for repair and return."}).
		on(175, "09:50").pays(docket.Transfer).
		sentByPost(parcel.Address{Name: "Aksel Vikhaug", Street: "Bryggeveien 4", Postcode: "9799", Town: "Skarvhamn", Country: "NO"},
			parcel.Posting{Number: "EI 7711 0387 GB", Proof: "Receipt 74, in the folder of the month"}, 195000, docket.OldPartsNone)
}

// taxedAtTheBuyers is a firm's of another country, which owes the tax there: both tax numbers stand on its invoice.
func (b *book) taxedAtTheBuyers() {
	good := sound(thackwood)
	b.open("skarvholm-deck", arrival{back: 58, clock: "10:20", customer: "skarvholm", watch: "skarvholm deck",
		wanted: docket.WantedService, complaint: "From their pilot boat, brought by the mate. Stops in the cold.", declared: 60000, dueDays: 28, order: "SL 2026-88"}).
		on(57, "09:25").toBench().
		found(seen(diagnosis.Train, "dirty", diagnosis.Require, "Oil gone to gum at the fourth wheel.")).
		readCautions().
		after(1*hour).measured(timing.AsReceived, "", good.dirty(), fullWind).
		diagnosed().
		on(56, "10:40").drafted("", labour("Full service of the movement", 18600)).
		sent().
		on(55, "14:30").answeredByLink(true, "Order SL 2026-88.").
		on(53, "09:30").toService().stripped(80, "").
		on(52, "09:30").rebuilt(115, "").
		toRegulation().
		on(50, "10:20").measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(48, "09:40").tested(staff.Watchmaker, passes(41, 0, false), "").
		toReady().
		on(48, "15:10").billed(invoice.Choices{Treatment: invoice.ReverseCharge}).
		on(44, "09:50").pays(docket.Transfer).
		collectedBy("Elin Skarv, mate", docket.ShownAuthority, "Letter of the firm; her passport shown.", docket.OldPartsNone)
}
