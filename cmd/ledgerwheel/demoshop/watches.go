package demoshop

import "ledgerwheel/domain/watch"

// timepiece is one of Saltby's watches.
type timepiece struct {
	watch.Watch
	date bool // it has a calendar
}

// watches are the watches that come in, by the name that this package knows them by. Makers and models are invented.
// Each lume is what its age would have: radium, then tritium, then paint that only stores light.
var watches = map[string]timepiece{
	"sorley pocket": {Watch: pocket("Skerrow & Daughters", "Open face", "20664", "20664", skerrow43, "silver")},
	"trustees deck": {Watch: wrist("Denmoor Chronometer Works", "Pilot Cutter", "DC-200", "D 01937", "", denmoor,
		"stainless steel",
		"leather strap", watch.LumePhotoluminescent, watch.WindingAutomatic, "10 bar"), date: true},
	"omalley tideway": {Watch: wrist("Pellwarne", "Tideway", "P-2410", "448120", "", pellAuto, "stainless steel",
		"steel bracelet",
		watch.LumePhotoluminescent, watch.WindingAutomatic, "5 bar"), date: true},
	"tannock field": {Watch: wrist("Thackwood Instrument Co.", "Field, second pattern", "", "T/1183 66", "90217",
		thackwood, "nickel alloy",
		"fabric strap", watch.LumeRadium, watch.WindingHand, ""), date: false},
	"strake rose": {Watch: wrist("Ostrelle", "Briar", "O-51", "77-0912", "", ostrelle, "rolled gold", "leather strap",
		watch.LumeNone,
		watch.WindingHand, "")},
	"veresova wm": {Watch: wrist("Vintermoor", "Consul", "804", "VM 38215", "612447", vintermoor, "gold plated",
		"leather strap",
		watch.LumeTritiumPaint, watch.WindingHand, "")},
	"mumford plain": {Watch: wrist("Pellwarne", "Warden", "P-1102", "117 338", "", pellwarne, "stainless steel",
		"leather strap",
		watch.LumeNone, watch.WindingHand, "3 bar")},
	"darcy gold": {Watch: wrist("Vintermoor", "Legation", "811", "VM 40071", "598120", vintermoor, "yellow gold",
		"leather strap",
		watch.LumeNone, watch.WindingHand, "water resistant")},
	"pilot diver": {Watch: wrist("Brackenholt", "Fathom Line", "BH-3600", "BH-81442", "", brackendiv, "stainless steel",
		"steel bracelet",
		watch.LumePhotoluminescent, watch.WindingAutomatic, "20 bar"), date: true},
	"wit daily": {Watch: wrist("Pellwarne", "Tideway", "P-2410", "502764", "", pellAuto, "stainless steel",
		"steel bracelet",
		watch.LumePhotoluminescent, watch.WindingAutomatic, "5 bar"), date: true},
	"quiggin plated": {Watch: wrist("Corrie & Lisle", "Soirée", "", "", "", "", "gold plated", "expanding bracelet",
		watch.LumeUnknown,
		watch.WindingHand, "")},
	"penhallow pocket": {Watch: pocket("unsigned", "Hunter", "", "8804", "", "nickel alloy")},
	"ossett wedding": {Watch: wrist("Ostrelle", "Vesper", "O-44", "51-2280", "", ostrelle, "yellow gold",
		"gold bracelet", watch.LumeNone, watch.WindingHand, "")},
	"nguyen sport": {Watch: wrist("Brackenholt", "Skerry", "BH-3450", "BH-70518", "", brackendiv, "titanium",
		"rubber strap",
		watch.LumePhotoluminescent, watch.WindingAutomatic, "10 bar"), date: true},
	"ellerby dress": {Watch: wrist("Denmoor Chronometer Works", "Ledger", "DC-140", "D 02611", "", denmoor, "white gold",
		"leather strap",
		watch.LumeNone, watch.WindingAutomatic, "3 bar"), date: true},
	"adeyinka father": {Watch: wrist("Thackwood Instrument Co.", "Surveyor", "", "T/2090 11", "104553", thackwood,
		"chromed base metal",
		"leather strap", watch.LumeTritiumPaint, watch.WindingHand, "")},
	"lukowska small": {Watch: wrist("Ostrelle", "Merle", "O-70 A", "84-1107", "", ostrelleA, "stainless steel",
		"mesh bracelet",
		watch.LumeNone, watch.WindingAutomatic, "3 bar")},
	"bareket consul": {Watch: wrist("Vintermoor", "Consul", "802", "VM 41088", "", vintermoor, "stainless steel",
		"leather strap",
		watch.LumeTritiumPaint, watch.WindingHand, "")},
	"ossett daily": {Watch: wrist("Pellwarne", "Warden", "P-1104", "203 551", "", pellwarne, "stainless steel",
		"leather strap",
		watch.LumeNone, watch.WindingHand, "3 bar")},
	"tannock navigator": {Watch: wrist("Thackwood Instrument Co.", "Navigator", "", "T/0447 02", "71880", thackwood,
		"stainless steel",
		"fabric strap", watch.LumeRadium, watch.WindingHand, "")},
	"shiomi tideway": {Watch: wrist("Pellwarne", "Tideway Small", "P-2436", "611803", "", pellAuto, "stainless steel",
		"leather strap",
		watch.LumePhotoluminescent, watch.WindingAutomatic, "5 bar"), date: true},
	"konstantinidou diver": {Watch: wrist("Brackenholt", "Fathom Line", "BH-3600", "BH-80377", "", brackendiv,
		"stainless steel",
		"rubber strap", watch.LumePhotoluminescent, watch.WindingAutomatic, "20 bar"), date: true},
	"khudari legation": {Watch: wrist("Vintermoor", "Legation", "811", "VM 39664", "587003", vintermoor, "rose gold",
		"leather strap",
		watch.LumeNone, watch.WindingHand, "")},
	"penalver warden": {Watch: wrist("Pellwarne", "Warden", "P-1102", "121 906", "", pellwarne, "stainless steel",
		"leather strap",
		watch.LumeNone, watch.WindingHand, "3 bar")},
	"ostergard merle": {Watch: wrist("Ostrelle", "Merle", "O-70 A", "85-0334", "", ostrelleA, "bronze", "leather strap",
		watch.LumeNone, watch.WindingAutomatic, "3 bar")},
	"strake tideway": {Watch: wrist("Pellwarne", "Tideway", "P-2412", "477015", "", pellAuto, "stainless steel",
		"steel bracelet",
		watch.LumePhotoluminescent, watch.WindingAutomatic, "5 bar"), date: true},
	"quiggin cutter": {Watch: wrist("Denmoor Chronometer Works", "Pilot Cutter", "DC-200", "D 01544", "", denmoor,
		"stainless steel",
		"steel bracelet", watch.LumePhotoluminescent, watch.WindingAutomatic, "10 bar"), date: true},
	"veresova pocket": {Watch: pocket("Skerrow & Daughters", "Open face", "24310", "24310", skerrow43, "nickel alloy")},
	"darcy field": {Watch: wrist("Thackwood Instrument Co.", "Field, first pattern", "", "T/0391 40", "68214", thackwood,
		"silver",
		"leather strap", watch.LumeRadium, watch.WindingHand, "")},
	"adeyinka skerry": {Watch: wrist("Brackenholt", "Skerry", "BH-3450", "BH-72290", "", brackendiv, "stainless steel",
		"fabric strap",
		watch.LumePhotoluminescent, watch.WindingAutomatic, "10 bar"), date: true},
	"trustees office": {Watch: wrist("Denmoor Chronometer Works", "Pilot Cutter", "DC-200", "D 01938", "", denmoor,
		"stainless steel",
		"leather strap", watch.LumePhotoluminescent, watch.WindingAutomatic, "10 bar"), date: true},
	"sorley cutter": {Watch: wrist("Denmoor Chronometer Works", "Pilot Cutter", "DC-200", "D 02250", "", denmoor,
		"stainless steel",
		"leather strap", watch.LumePhotoluminescent, watch.WindingAutomatic, "10 bar"), date: true},
	"trustees standby": {Watch: wrist("Denmoor Chronometer Works", "Pilot Cutter", "DC-200", "D 01939", "", denmoor,
		"stainless steel",
		"leather strap", watch.LumePhotoluminescent, watch.WindingAutomatic, "10 bar"), date: true},
	"penhallow warden": {Watch: wrist("Pellwarne", "Warden", "P-1104", "219 477", "", pellwarne, "stainless steel",
		"leather strap",
		watch.LumeNone, watch.WindingHand, "3 bar")},
	"shiomi briar": {Watch: wrist("Ostrelle", "Briar", "O-51", "78-2245", "", ostrelle, "white gold", "leather strap",
		watch.LumeNone,
		watch.WindingHand, "")},
	"wit cutter": {Watch: wrist("Denmoor Chronometer Works", "Ledger", "DC-140", "D 02077", "", denmoor, "stainless steel",
		"leather strap",
		watch.LumeNone, watch.WindingAutomatic, "3 bar"), date: true},
	"konstantinidou skerry": {Watch: wrist("Brackenholt", "Skerry", "BH-3450", "BH-73904", "", brackendiv,
		"stainless steel", "rubber strap",
		watch.LumePhotoluminescent, watch.WindingAutomatic, "10 bar"), date: true},
	"sorley consul": {Watch: wrist("Vintermoor", "Consul Small", "790", "VM 36122", "570938", vintermoor, "gold plated",
		"leather strap",
		watch.LumeNone, watch.WindingHand, "")},
	"penalver merle": {Watch: wrist("Ostrelle", "Merle", "O-70 A", "84-2991", "", ostrelleA, "stainless steel",
		"mesh bracelet",
		watch.LumeNone, watch.WindingAutomatic, "3 bar")},
	"lukowska consul": {Watch: wrist("Vintermoor", "Consul", "804", "VM 37990", "601172", vintermoor, "stainless steel",
		"leather strap",
		watch.LumeTritiumPaint, watch.WindingHand, "")},
}

func wrist(maker, model, reference, serial, movementSerial, calibre, caseMaterial, strap string, lume watch.Lume,
	winding watch.Winding, water string) watch.Watch {
	return watch.Watch{Maker: maker, Model: model, Reference: reference, Serial: serial, MovementSerial: movementSerial,
		CalibreName:  calibre,
		CaseMaterial: caseMaterial, Strap: strap, Lume: lume, Winding: winding, WaterResistanceMarked: water,
		CrownAt: watch.CrownAtThree}
}

func pocket(maker, model, serial, movementSerial, calibre, caseMaterial string) watch.Watch {
	return watch.Watch{Maker: maker, Model: model, Serial: serial, MovementSerial: movementSerial, CalibreName: calibre,
		CaseMaterial: caseMaterial, Strap: "chain", Lume: watch.LumeNone, Winding: watch.WindingHand,
		CrownAt: watch.CrownAtTwelve}
}

// watch is the watch as the counter writes it down.
func (f *filler) watch(key string) watch.Watch {
	w := watches[key].Watch
	w.CalibreID = f.calibres[w.CalibreName]
	return w.Tidied()
}
