package demoshop

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/watch"
)

// Names of the invented customers of a seeded shop; any two may be joined.
var (
	givenNames = strings.Fields(`Hester Wilf Imogen Ruth Femi Orla Tobias Margit Wenna Aksel Siobhán Agnieszka Ruaridh Naomi Aurélie Annegret Elin Ottoline
		Piers Delphine Casimir Brigid Edda Fenella Gideon Hanneke Isolde Jory Kerenza Lorcan Maren Nils Oona Perran Quentin Rowena Sunniva Tamsin Ulrich
		Verity Wystan Ysolde Zelda Ambrose Beatrix Crispin Dorcas Ewan Freya Gwilym`)
	familyNames = strings.Fields(`O’Malley Tannock Strake Penhallow Adeyinka Quiggin Ellerby Østergård Oddy Vikhaug D’Arcy Łukowska Sorley Bareket Pontcarré
		Hollerbeck Skarv Marlow Thackray Brine Netherby Corrigan Dunmore Fallowfield Garrick Hawksworth Inskip Jessamy Kittow Lanyon Moorcroft Nankivell
		Ormerod Pascoe Quill Roskilly Sandercock Trevanion Uren Veryan Wakelin Yelland Zennor Ashby Bellweather Carkeek Drysdale Elphick Fothergill Gannet`)
	trades = []string{"Harbour Trustees", "Ferry Company", "Auction Rooms", "Antiques", "Pilots", "Boatyard"}
)

// seededCustomer is customer i. Telephone numbers are of the ranges that the United Kingdom's regulator keeps for drama, which
// are few, so that many customers share one; the domain example is reserved (RFC 2606).
func seededCustomer(random *rand.Rand, i int) customer.Customer {
	family := familyNames[random.IntN(len(familyNames))]
	if random.Float64() < isFirm {
		return customer.Customer{Name: fmt.Sprintf("%s %s", family, trades[random.IntN(len(trades))]), Firm: true, Email: fmt.Sprintf("office%d@quillmail.example", i),
			Address: fmt.Sprintf("%d Quay Street\nQuillhaven", 1+random.IntN(200)), PreferredContact: customer.ContactEmail}
	}
	if random.Float64() < 0.4 {
		family += "-" + familyNames[random.IntN(len(familyNames))]
	}
	c := customer.Customer{Name: givenNames[random.IntN(len(givenNames))] + " " + family, Email: fmt.Sprintf("c%d@quillmail.example", i)}
	if random.Float64() < 0.5 {
		c.Phone = fmt.Sprintf("07700 900 %03d", random.IntN(1000))
	}
	if random.Float64() < 0.5 {
		c.Address = fmt.Sprintf("%d Fishgate\nQuillhaven", 1+random.IntN(400))
	}
	return c
}

// seededWatch is watch i, of one of the demo's invented makers.
func seededWatch(random *rand.Rand, i int) watch.Watch {
	m := models[random.IntN(len(models))]
	w := wrist(m.maker, m.model, m.reference, fmt.Sprintf("%s %07d", m.mark, i+1), "", m.calibre, "stainless steel", "leather strap", m.lume, m.winding, m.water)
	w.OverpressureBar = m.bar
	return w.Tidied()
}

var models = []struct {
	maker, model, reference, mark, calibre string
	lume                                   watch.Lume
	winding                                watch.Winding
	water                                  string
	bar                                    float64
}{
	{"Pellwarne", "Tideway", "P-2410", "PW", pellAuto, watch.LumePhotoluminescent, watch.WindingAutomatic, "3 bar", 3},
	{"Pellwarne", "Tideway Small", "P-2436", "PW", pellAuto, watch.LumePhotoluminescent, watch.WindingAutomatic, "3 bar", 3},
	{"Pellwarne", "Warden", "P-1102", "PW", pellwarne, watch.LumeNone, watch.WindingHand, "", 0},
	{"Vintermoor", "Consul", "804", "VM", vintermoor, watch.LumeTritiumPaint, watch.WindingHand, "", 0},
	{"Vintermoor", "Legation", "811", "VM", vintermoor, watch.LumeNone, watch.WindingHand, "", 0},
	{"Thackwood Instrument Co.", "Navigator", "", "T", thackwood, watch.LumeRadium, watch.WindingHand, "", 0},
	{"Brackenholt", "Skerry", "BH-3450", "BH", brackendiv, watch.LumePhotoluminescent, watch.WindingHand, "3 bar", 3},
	{"Denmoor Chronometer Works", "Ledger", "DC-140", "D", denmoor, watch.LumeNone, watch.WindingAutomatic, "3 bar", 3},
	{"Ostrelle", "Briar", "O-51", "OS", ostrelle, watch.LumeNone, watch.WindingHand, "", 0},
	{"Ostrelle", "Merle", "O-70 A", "OS", ostrelleA, watch.LumeNone, watch.WindingAutomatic, "3 bar", 3},
}
