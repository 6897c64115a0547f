package parcel

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// The orders are those of libaddressinput's address data ("fmt", "lfmt"), written out by hand with one made-up address.
func TestAddressInTheOrderOfItsCountry(t *testing.T) {
	t.Parallel()
	made := Address{Name: "Ada", Firm: "Firm", Street: "1 Street\nFlat 2", Town: "Town", Region: "Region", Postcode: "12345"}
	for country, want := range map[string]string{
		"GB": "Ada|Firm|1 Street|Flat 2|Town|12345",         // %N%n%O%n%A%n%C%n%Z
		"DE": "Ada|Firm|1 Street|Flat 2|12345 Town",         // %N%n%O%n%A%n%Z %C
		"FR": "Firm|Ada|1 Street|Flat 2|12345 Town",         // %O%n%N%n%A%n%Z %C
		"US": "Ada|Firm|1 Street|Flat 2|Town, Region 12345", // %N%n%O%n%A%n%C, %S %Z
		"CA": "Ada|Firm|1 Street|Flat 2|Town Region 12345",  // %N%n%O%n%A%n%C %S %Z
		"IT": "Ada|Firm|1 Street|Flat 2|12345 Town Region",  // %N%n%O%n%A%n%Z %C %S
		"IN": "Ada|Firm|1 Street|Flat 2|Town 12345|Region",  // %N%n%O%n%A%n%C %Z%n%S
		"NZ": "Ada|Firm|1 Street|Flat 2|Town 12345",         // %N%n%O%n%A%n%D%n%C %Z
		"JP": "Ada|Firm|1 Street|Flat 2|Town, Region|12345", // lfmt %N%n%O%n%A%n%C, %S%n%Z
		"BR": "Ada|Firm|1 Street|Flat 2|Town-Region|12345",  // %O%n%N%n%A%n%D%n%C-%S%n%Z
		"CH": "Ada|Firm|1 Street|Flat 2|12345 Town",         // %O%n%N%n%A%n%Z %C
		"UA": "Ada|Firm|1 Street|Flat 2|Town|Region|12345",  // %N%n%O%n%A%n%C%n%S%n%Z
	} {
		a := made
		a.Country = country
		if got := strings.Join(a.Lines(), "|"); got != want {
			t.Errorf("%s: %s, want %s", country, got, want)
		}
	}
	// fmt of JP is 〒%Z%n%S%C%n%A%n%O%n%N.
	jp := Address{Name: "時計花子", Street: "港町1-2", Town: "横浜市", Region: "神奈川県", Postcode: "220-0000", Country: "JP"}
	if got := strings.Join(jp.Lines(), "|"); got != "〒220-0000|神奈川県横浜市|港町1-2|時計花子" {
		t.Errorf("JP in its own script: %s", got)
	}
	us := Address{Name: "Ada", Street: "1 Street", Town: "Town", Postcode: "12345", Country: "US"}
	if got := us.Lines()[2]; got != "Town 12345" {
		t.Errorf("without a state: %q", got)
	}
}

// Abroad the country is the last line, in capitals (Universal Postal Union, on addresses of international mail).
func TestCountryIsTheLastLineAbroad(t *testing.T) {
	t.Parallel()
	a := Address{Name: "Ada", Street: "Hafenstraße 12", Town: "Hamburg", Postcode: "20457", Country: "DE"}
	if got := a.For("GB"); got[len(got)-1] != "GERMANY" {
		t.Errorf("from abroad: %q", got)
	}
	if got := a.For("DE"); got[len(got)-1] != "20457 Hamburg" {
		t.Errorf("at home: %q", got)
	}
}

func TestEveryCountryStandsInOneOrder(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for order, countries := range orders {
		for _, c := range strings.Fields(countries) {
			if seen[c] {
				t.Errorf("%s has two orders", c)
			}
			if seen[c] = true; c != "AC" && c != "TA" && CountryName(c) == "" {
				t.Errorf("%s: %s is no country", order, c)
			}
		}
		if !strings.Contains(order, "A") || !strings.Contains(order, "N") {
			t.Errorf("order %q leaves out name or street", order)
		}
	}
}

var (
	today = time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)
	post  = Carrier{ID: 3, Name: "Estuary Insured", LimitMinor: 250000, Currency: "GBP"}
)

func fit() Dispatch {
	return Dispatch{Carrier: post, Currency: "GBP", ValueMinor: 250000, Contents: "1 watch", Cell: CellNone, NothingBarred: true,
		To:      Address{Name: "Ada", Street: "3 Row", Town: "Saltby", Postcode: "SB1 4TQ", Country: "GB"},
		Consent: Consent{By: "Ada", On: today, How: ByMail}}
}

// Each rule that stops a parcel names its field, and nothing else stands against it.
func TestWhatStopsAParcel(t *testing.T) {
	t.Parallel()
	if bad := fit().Problems(Holds{}, today); len(bad) != 0 {
		t.Fatalf("a fit parcel: %v", bad)
	}
	for name, tt := range map[string]struct {
		change func(*Dispatch)
		holds  Holds
		field  string
		says   string
	}{
		"above the limit":         {func(d *Dispatch) { d.ValueMinor = 250001 }, Holds{}, "value", "2500.00 GBP"},
		"no value":                {func(d *Dispatch) { d.ValueMinor = 0 }, Holds{}, "value", "declared"},
		"no carrier":              {func(d *Dispatch) { d.Carrier = Carrier{} }, Holds{}, "carrier", "carrier"},
		"limit in other money":    {func(d *Dispatch) { d.Currency = "EUR" }, Holds{}, "carrier", "EUR"},
		"nobody agreed":           {func(d *Dispatch) { d.Consent.By = "" }, Holds{}, "consent_by", "agreed"},
		"agreed by word of mouth": {func(d *Dispatch) { d.Consent.How = "told" }, Holds{}, "consent_how", "writing"},
		"agreed tomorrow":         {func(d *Dispatch) { d.Consent.On = today.AddDate(0, 0, 1) }, Holds{}, "consent_on", "to come"},
		"agreed on no day":        {func(d *Dispatch) { d.Consent.On = time.Time{} }, Holds{}, "consent_on", "day"},
		"lithium":                 {func(d *Dispatch) { d.Cell = CellLithium }, Holds{Cell: true}, "cell", "takes no lithium"},
		"a cell nobody spoke of":  {func(d *Dispatch) { d.Cell = "" }, Holds{Cell: true}, "cell", "loose"},
		"radium":                  {func(*Dispatch) {}, Holds{Radium: true}, "radium_asked", "Ask the carrier"},
		"not looked":              {func(d *Dispatch) { d.NothingBarred = false }, Holds{}, "nothing_barred", "Look"},
		"nothing in it":           {func(d *Dispatch) { d.Contents = "" }, Holds{}, "contents", "in the parcel"},
		"nowhere":                 {func(d *Dispatch) { d.To.Town = "" }, Holds{}, "town", "town"},
		"no country":              {func(d *Dispatch) { d.To.Country = "XX" }, Holds{}, "country", "letters"},
	} {
		d := fit()
		tt.change(&d)
		if bad := d.Problems(tt.holds, today); !strings.Contains(bad[tt.field], tt.says) || len(bad) != 1 {
			t.Errorf("%s: %v", name, bad)
		}
	}
	d := fit()
	d.Carrier.CellsInEquipment, d.Cell, d.RadiumAsked = true, CellLithium, "Ms Ford of their desk: taken"
	if bad := d.Problems(Holds{Cell: true, Radium: true}, today); len(bad) != 0 {
		t.Errorf("cell and radium that the carrier takes: %v", bad)
	}
}

func TestArrival(t *testing.T) {
	t.Parallel()
	good := Arrival{Carrier: "Estuary Post", Number: "EP 1", Sender: "Ada", Seal: SealWhole, Box: BoxWhole, Things: 2, Contents: "watch\nbox"}
	if bad := good.Problems(); len(bad) != 0 || !good.Whole() {
		t.Errorf("a fit parcel: %v", bad)
	}
	for field, change := range map[string]func(*Arrival){
		"carrier": func(a *Arrival) { a.Carrier = "" }, "sender": func(a *Arrival) { a.Sender = "" }, "seal": func(a *Arrival) { a.Seal = "" },
		"box": func(a *Arrival) { a.Box = "wet" }, "things": func(a *Arrival) { a.Things = -1 }, "contents": func(a *Arrival) { a.Contents = "" },
		"number": func(a *Arrival) { a.Number = strings.Repeat("9", 61) },
	} {
		a := good
		change(&a)
		if bad := a.Problems(); bad[field] == "" || len(bad) != 1 {
			t.Errorf("%s: %v", field, bad)
		}
	}
	for _, a := range []Arrival{{Seal: SealBroken, Box: BoxWhole}, {Seal: SealWhole, Box: BoxOpened}, {Seal: SealNone, Box: BoxDamaged}} {
		if a.Whole() {
			t.Errorf("%s passes for whole", a.StateWords())
		}
	}
}

func TestCarrierAndPosting(t *testing.T) {
	t.Parallel()
	if bad := post.Problems(); len(bad) != 0 {
		t.Errorf("carrier: %v", bad)
	}
	for _, c := range []Carrier{{LimitMinor: 1}, {Name: "x"}, {Name: "x", LimitMinor: 1, Note: strings.Repeat("n", 1001)}} {
		if len(c.Problems()) != 1 {
			t.Errorf("%+v: %v", c, c.Problems())
		}
	}
	if bad := (Posting{Number: "EP 2", Proof: "receipt 12"}).Problems(); len(bad) != 0 {
		t.Errorf("posting: %v", bad)
	}
	if bad := (Posting{}).Problems(); len(bad) != 2 {
		t.Errorf("nothing posted: %v", bad)
	}
	if !slices.Equal(nonEmpty("a\n \nb"), []string{"a", "b"}) {
		t.Error("empty lines are kept")
	}
	if got := Guess("Ada", "3 Row\nSaltby", "GB"); got.Street != "3 Row" || got.Town != "Saltby" || got.Country != "GB" {
		t.Errorf("guessed %+v", got)
	}
}
