package demoshop

import (
	"maps"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/tongue"
)

// customers are the invented people of Saltby, by the name that this package knows them by. Telephone numbers are from
// the ranges that the United Kingdom's regulator keeps for drama (01632 960, 07700 900, 020 7946 0), e-mail addresses
// from the reserved domain example (RFC 2606).
var customers = both(earlyCustomers, map[string]customer.Customer{
	"omalley": {Name: "Hester O’Malley", Phone: "01632 960 231", Email: "hester.omalley@saltbymail.example",
		Address: "14 Fishgate\nSaltby", PreferredContact: customer.ContactPhone},
	"tannock": {Name: "Wilf Tannock", Phone: "01632 960 118", Address: "The Old Ropewalk\nSaltby",
		PreferredContact: customer.ContactPhone, Notes: "Hard of hearing: let it ring."},
	"strake": {Name: "Imogen Strake", Phone: "07700 900 412", Email: "imogen@strake.example",
		PreferredContact: customer.ContactEmail},
	"konstantinidou": {Name: "Ελευθερία Κωνσταντινίδου", Phone: "07700 900 177", Email: "eleftheria.k@harbourline.example",
		Address: "Flat 2, 9 Customs Row\nSaltby", PreferredContact: customer.ContactText},
	"veresova": {Name: "Зоя Платоновна Вересова", Phone: "01632 960 745", Email: "z.veresova@lantern.example",
		Address: "31 Lantern Hill\nSaltby"},
	"khudari": {Name: "سلمى الخضري", Phone: "07700 900 655", Email: "salma.k@tidewater.example",
		PreferredContact: customer.ContactText,
		Notes:            "Writes Arabic; reads English well."},
	"bareket": {Name: "נעמי ברקת", Phone: "020 7946 0381", Email: "naomi.b@quayside.example"},
	"shiomi": {Name: "汐見 千尋", Phone: "07700 900 093", Email: "chihiro.shiomi@netloft.example",
		PreferredContact: customer.ContactEmail},
	"darcy": {Name: "Siobhán D’Arcy-Quill", Phone: "01632 960 360", Email: "s.darcyquill@saltbymail.example",
		Address: "Gull House\nUpper Saltby"},
	"harbour": {Name: "Saltby Harbour Trustees", Phone: "01632 960 900", Email: "office@saltbyharbour.example",
		Address: "Harbour Office\nQuay Street\nSaltby", PreferredContact: customer.ContactEmail, Firm: true,
		Notes: "Invoice to the office, attention of the harbour master."},
	"sorley": {Name: "Capt. Ruaridh Sorley", Phone: "01632 960 052", Address: "2 Coastguard Cottages\nSaltby",
		PreferredContact: customer.ContactPost},
	"ellerby": {Name: "Tobias Ellerby-Knott", Phone: "07700 900 238", Email: "tobias@ellerbyknott.example",
		PreferredContact: customer.ContactEmail},
	"lukowska": {Name: "Agnieszka Łukowska", Phone: "07700 900 861", Email: "a.lukowska@netloft.example",
		PreferredContact: customer.ContactText},
	"nguyen": {Name: "Nguyễn Thị Thu Hà", Phone: "07700 900 529", Email: "thuha@tidewater.example"},
	"ostergard": {Name: "Margit Østergård", Phone: "01632 960 487", Email: "margit@ostergard.example",
		Address: "Brine Cottage\nNether Saltby"},
	"adeyinka": {Name: "Femi Adeyinka", Phone: "07700 900 304", Email: "femi.adeyinka@lantern.example",
		PreferredContact: customer.ContactEmail},
	"penhallow": {Name: "Ruth Penhallow", Phone: "01632 960 629", Email: "ruth.penhallow@saltbymail.example",
		Address: "Mill Loft\nSluice Lane\nSaltby"},
	"pontcarre": {Name: "Aurélie Pontcarré", Phone: "01632 960 174", PreferredContact: customer.ContactPhone,
		Tongue: tongue.French},
	"penalver": {Name: "Ana María Peñalver", Phone: "07700 900 716", Email: "am.penalver@quayside.example"},
	"ossett": {Name: "Mr & Mrs Ossett", Phone: "01632 960 593", Address: "Tidewrack\nShingle Road\nSaltby",
		PreferredContact: customer.ContactPost},
	"hollerbeck": {Name: "Annegret Hollerbeck", Phone: "07700 900 947", Email: "annegret@hollerbeck.example",
		PreferredContact: customer.ContactEmail, Tongue: tongue.German},
	"oddyhale": {Name: "Wenna Oddy-Hale", Phone: "07700 900 566", Email: "wenna@oddyhale.example",
		Address: "5 Netmenders’ Yard\nSaltby", PreferredContact: customer.ContactEmail},
	// The tax number is of the kind that references give as an example; nobody has it.
	"skarvholm": {Name: "Skarvholm Lotsbåtar", Phone: "07700 900 758", Email: "kontor@skarvholm.example", Address: "Kajgatan 2\n455 99 Skarvholm\nSweden",
		PreferredContact: customer.ContactEmail, Firm: true, TaxNumber: "SE123456789701"},
	"vikhaug": {Name: "Aksel Vikhaug", Phone: "07700 900 743", Email: "aksel@vikhaug.example", Address: "Bryggeveien 4\n9799 Skarvhamn\nNorway",
		PreferredContact: customer.ContactEmail, Notes: "Writes from abroad; his number here works while he is in port."},
	"quiggin": {Name: "Orla Quiggin", Phone: "01632 960 815", Email: "orla.quiggin@harbourline.example"},
})

// both is one map of two.
func both[T any](a, b map[string]T) map[string]T {
	all := maps.Clone(a)
	maps.Copy(all, b)
	return all
}
