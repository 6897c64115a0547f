package demoshop

import (
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/estimate"
	"ledgerwheel/domain/service"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/timing"
	"ledgerwheel/domain/watch"
)

// The first year's dockets are kept short: one watch each, what was done to it, and how it was paid.

// workKind is what was done to one of them.
type workKind int

const (
	serviceWork workKind = iota
	regulationWork
	sealingWork
)

// early is a docket of the first year.
type early struct {
	key          string // of job and watch
	back         int
	customer     string
	calibre      string
	work         workKind
	minor        int64 // charged, with tax
	reserveHours float64
	bar          float64 // of the water test, 0 for none
	paid         docket.Method
	complaint    string
}

var earlies = []early{
	{"brindle-1", 606, "brindle", pellwarne, serviceWork, 18500, 44.5, 3, docket.Card, "Stops in the night, starts again when shaken."},
	{"cassonby-2", 591, "cassonby", vintermoor, regulationWork, 6500, 38.5, 0, docket.Cash, "Gains twenty seconds a day since the summer."},
	{"dunmallet-3", 576, "dunmallet", pellAuto, serviceWork, 16500, 42.5, 5, docket.Card, "Has not been opened for ten years or more; loses minutes."},
	{"eskdahl-4", 560, "eskdahl", thackwood, regulationWork, 4800, 41, 0, docket.Transfer, "Loses a little every day; nothing else is wrong."},
	{"farrowgate-5", 545, "farrowgate", ostrelle, serviceWork, 18500, 37, 0, docket.Card, "Runs half a day and stops."},
	{"gaskarth-6", 529, "gaskarth", brackendiv, regulationWork, 5200, 46, 12.5, docket.Cash, "Fast when worn, slow overnight."},
	{"holmquay-7", 514, "holmquay", pellwarne, serviceWork, 16500, 44.5, 3, docket.Card, "Slow, and slower every month."},
	{"inchkeld-8", 498, "inchkeld", skerrow43, regulationWork, 6500, 37, 0, docket.Transfer, "Gains twenty seconds a day since the summer."},
	{"jarrowby-9", 483, "jarrowby", pellAuto, serviceWork, 18500, 42.5, 5, docket.Card, "Was her father’s; to be worn again."},
	{"kelderwick-10", 467, "kelderwick", vintermoor, regulationWork, 4800, 38.5, 0, docket.Cash, "Loses a little every day; nothing else is wrong."},
	{"lorimer-11", 452, "lorimer", denmoor, serviceWork, 16500, 62, 3, docket.Card, "Stops in the night, starts again when shaken."},
	{"mirfin-12", 436, "mirfin", thackwood, regulationWork, 5200, 41, 0, docket.Transfer, "Fast when worn, slow overnight."},
	{"norrland-13", 421, "norrland", pellAuto, serviceWork, 18500, 42.5, 5, docket.Card, "Has not been opened for ten years or more; loses minutes."},
	{"oxley-14", 405, "oxley", ostrelle, regulationWork, 6500, 37, 0, docket.Cash, "Gains twenty seconds a day since the summer."},
	{"pasco-15", 390, "pasco", pellwarne, serviceWork, 16500, 44.5, 3, docket.Card, "Runs half a day and stops."},
	{"quarrie-16", 374, "quarrie", brackendiv, sealingWork, 8400, 46, 12.5, docket.Transfer, "Mist under the glass after a walk in the rain."},
	{"brindle-17", 359, "brindle", vintermoor, serviceWork, 18500, 38.5, 0, docket.Card, "Slow, and slower every month."},
	{"inchkeld-18", 343, "inchkeld", pellAuto, regulationWork, 5200, 42.5, 5, docket.Cash, "Loses a little every day; nothing else is wrong."},
	{"pasco-19", 328, "pasco", skerrow43, serviceWork, 16500, 37, 0, docket.Card, "Was her father’s; to be worn again."},
	{"gaskarth-20", 312, "gaskarth", thackwood, regulationWork, 6500, 41, 0, docket.Transfer, "Fast when worn, slow overnight."},
}

var earlyCustomers = map[string]customer.Customer{
	"brindle":    {Name: "Perran Brindle", Phone: "01632 960 203", Email: "perran.brindle@saltbymail.example", PreferredContact: customer.ContactEmail},
	"cassonby":   {Name: "Thora Cassonby", Phone: "07700 900 118", Email: "thora@cassonby.example", PreferredContact: customer.ContactEmail},
	"dunmallet":  {Name: "Jonah Dunmallet", Phone: "01632 960 217", PreferredContact: customer.ContactPhone},
	"eskdahl":    {Name: "Ingrid Eskdahl", Phone: "07700 900 126", Email: "ingrid.eskdahl@netloft.example", PreferredContact: customer.ContactEmail},
	"farrowgate": {Name: "Silas Farrowgate", Phone: "01632 960 224", Email: "silas.f@quayside.example", PreferredContact: customer.ContactEmail},
	"gaskarth":   {Name: "Beatrix Gaskarth", Phone: "07700 900 133", Email: "b.gaskarth@lantern.example", PreferredContact: customer.ContactEmail},
	"holmquay":   {Name: "Anders Holmquay", Phone: "01632 960 238", PreferredContact: customer.ContactPhone},
	"inchkeld":   {Name: "Morag Inchkeld", Phone: "07700 900 149", Email: "morag@inchkeld.example", PreferredContact: customer.ContactEmail},
	"jarrowby":   {Name: "Elias Jarrowby", Phone: "01632 960 246", Email: "elias.jarrowby@tidewater.example", PreferredContact: customer.ContactEmail},
	"kelderwick": {Name: "Nell Kelderwick", Phone: "07700 900 152", Email: "nell.k@harbourline.example", PreferredContact: customer.ContactEmail},
	"lorimer":    {Name: "Cosmo Lorimer-Thwaite", Phone: "01632 960 255", Email: "cosmo@lorimerthwaite.example", PreferredContact: customer.ContactEmail},
	"mirfin":     {Name: "Davina Mirfin", Phone: "07700 900 164", Email: "davina.mirfin@saltbymail.example", PreferredContact: customer.ContactEmail},
	"norrland":   {Name: "Sten Norrland", Phone: "01632 960 268", PreferredContact: customer.ContactPhone},
	"oxley":      {Name: "Hilde Oxley-Barr", Phone: "07700 900 171", Email: "hilde@oxleybarr.example", PreferredContact: customer.ContactEmail},
	"pasco":      {Name: "Digory Pasco", Phone: "01632 960 274", Email: "digory.pasco@lantern.example", PreferredContact: customer.ContactEmail},
	"quarrie":    {Name: "Isla Quarrie", Phone: "07700 900 186", Email: "isla.quarrie@netloft.example", PreferredContact: customer.ContactEmail},
}

var earlyWatches = map[string]timepiece{
	"brindle-1": {Watch: wrist("Pellwarne", "Warden", "P-1104", "20100 114", "", pellwarne, "stainless steel",
		"leather strap", watch.LumeNone, watch.WindingHand, "3 bar")},
	"cassonby-2": {Watch: wrist("Vintermoor", "Consul", "802", "VM 421177", "", vintermoor, "stainless steel",
		"leather strap", watch.LumeTritiumPaint, watch.WindingHand, "")},
	"dunmallet-3": {Watch: wrist("Pellwarne", "Tideway", "P-2410", "49134083", "", pellAuto, "stainless steel",
		"steel bracelet", watch.LumePhotoluminescent, watch.WindingAutomatic, "5 bar"), date: true},
	"eskdahl-4": {Watch: wrist("Thackwood Instrument Co.", "Surveyor", "", "T/21151 08", "", thackwood, "chromed base metal",
		"leather strap", watch.LumeTritiumPaint, watch.WindingHand, "")},
	"farrowgate-5": {Watch: wrist("Ostrelle", "Briar", "O-51", "78-11684", "", ostrelle, "rolled gold",
		"leather strap", watch.LumeNone, watch.WindingHand, "")},
	"gaskarth-6": {Watch: wrist("Brackenholt", "Skerry", "BH-3450", "BH-711852", "", brackendiv, "titanium",
		"rubber strap", watch.LumePhotoluminescent, watch.WindingAutomatic, "10 bar"), date: true},
	"holmquay-7": {Watch: wrist("Pellwarne", "Warden", "P-1104", "20202 114", "", pellwarne, "stainless steel",
		"leather strap", watch.LumeNone, watch.WindingHand, "3 bar")},
	"inchkeld-8": {Watch: pocket("Skerrow & Daughters", "Open face", "21219", "21219", skerrow43, "silver")},
	"jarrowby-9": {Watch: wrist("Pellwarne", "Tideway", "P-2410", "49236083", "", pellAuto, "stainless steel",
		"steel bracelet", watch.LumePhotoluminescent, watch.WindingAutomatic, "5 bar"), date: true},
	"kelderwick-10": {Watch: wrist("Vintermoor", "Consul", "802", "VM 422537", "", vintermoor, "stainless steel",
		"leather strap", watch.LumeTritiumPaint, watch.WindingHand, "")},
	"lorimer-11": {Watch: wrist("Denmoor Chronometer Works", "Ledger", "DC-140", "D 032706", "", denmoor, "stainless steel",
		"leather strap", watch.LumeNone, watch.WindingAutomatic, "3 bar"), date: true},
	"mirfin-12": {Watch: wrist("Thackwood Instrument Co.", "Surveyor", "", "T/21287 08", "", thackwood, "chromed base metal",
		"leather strap", watch.LumeTritiumPaint, watch.WindingHand, "")},
	"norrland-13": {Watch: wrist("Pellwarne", "Tideway", "P-2410", "49304083", "", pellAuto, "stainless steel",
		"steel bracelet", watch.LumePhotoluminescent, watch.WindingAutomatic, "5 bar"), date: true},
	"oxley-14": {Watch: wrist("Ostrelle", "Briar", "O-51", "78-13214", "", ostrelle, "rolled gold",
		"leather strap", watch.LumeNone, watch.WindingHand, "")},
	"pasco-15": {Watch: wrist("Pellwarne", "Warden", "P-1104", "20338 114", "", pellwarne, "stainless steel",
		"leather strap", watch.LumeNone, watch.WindingHand, "3 bar")},
	"quarrie-16": {Watch: wrist("Brackenholt", "Skerry", "BH-3450", "BH-713552", "", brackendiv, "titanium",
		"rubber strap", watch.LumePhotoluminescent, watch.WindingAutomatic, "10 bar"), date: true},
	"brindle-17": {Watch: wrist("Vintermoor", "Consul", "802", "VM 423727", "", vintermoor, "stainless steel",
		"leather strap", watch.LumeTritiumPaint, watch.WindingHand, "")},
	"inchkeld-18": {Watch: wrist("Pellwarne", "Tideway", "P-2410", "49389083", "", pellAuto, "stainless steel",
		"steel bracelet", watch.LumePhotoluminescent, watch.WindingAutomatic, "5 bar"), date: true},
	"pasco-19": {Watch: pocket("Skerrow & Daughters", "Open face", "21406", "21406", skerrow43, "silver")},
	"gaskarth-20": {Watch: wrist("Thackwood Instrument Co.", "Surveyor", "", "T/21423 08", "", thackwood, "chromed base metal",
		"leather strap", watch.LumeTritiumPaint, watch.WindingHand, "")},
}

// firstYear are the watches of the first year, all of them long home again.
func (b *book) firstYear() {
	for _, e := range earlies {
		b.early(e)
	}
}

func (b *book) early(e early) {
	good, lines := sound(e.calibre), []estimate.Line{labour("Regulation in six positions", e.minor)}
	wanted := docket.WantedRegulation
	switch e.work {
	case serviceWork:
		wanted, lines = docket.WantedService, []estimate.Line{labour("Full service of the movement", e.minor)}
	case sealingWork:
		lines = []estimate.Line{labour("Case opened, new seals, tested in air", e.minor-1800), material("Set of seals", 1800)}
	}
	j := b.open(e.key, arrival{back: e.back, clock: "10:40", customer: e.customer, watch: e.key, wanted: wanted, complaint: e.complaint,
		limit: e.minor, dueDays: 21}).
		on(e.back-1, "09:30").toBench()
	cameIn := good
	switch e.work {
	case serviceWork:
		cameIn = good.dirty()
		j.found(seen(diagnosis.Train, "dirty", diagnosis.Require, ""))
	case regulationWork:
		cameIn = good.going(19)
		j.found(seen(diagnosis.Hairspring, "sound", diagnosis.Observe, ""))
	case sealingWork:
		j.found(seen(diagnosis.CaseAndSeals, "seals flat", diagnosis.Require, ""))
	}
	j.readCautions().after(hour).measured(timing.AsReceived, "", cameIn, fullWind).diagnosed().drafted("", lines...)
	if e.work != regulationWork {
		j.on(e.back-3, "09:40").toService()
		if e.work == serviceWork {
			j.stripped(80, "").rebuilt(110, "")
		} else {
			j.worked(35, "", service.StepUncase, service.StepCaseUp)
		}
	}
	j.on(e.back-5, "10:20").toRegulation().measured(timing.Final, "", good, bothDays).
		toFinalTest().
		on(e.back-7, "09:30").tested(staff.Watchmaker, passes(e.reserveHours, e.bar, watches[e.key].date), "").
		toReady().
		on(e.back-9, "15:20").pays(e.paid).collected(docket.OldPartsNone)
}
