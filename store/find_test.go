package store_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/storetest"
)

// someDockets takes in watches of people of many scripts.
func someDockets(t *testing.T, c *counter) []docket.Number {
	t.Helper()
	var numbers []docket.Number
	for i, p := range []struct {
		name, phone, email, maker, model, serial, movement string
	}{
		{"Ada Quillmarsh", "01632 960123", "ada@example.org", "Gannet", "Harbourmaster", "1O47-I", "M 881"},
		{"Zoë O’Malley-Ångström", "+41 44 668 18 00", "zoe@saltby.example", "Tarnside", "Fell 38", "TS 0099/77", ""},
		{"李小龍", "020 7946 0018", "", "Gannet", "Skerry", "", "55-0123"},
		{"דוד כהן", "020 7946 0099", "david@example.org", "Curlew & Daughters", "", "CD-1", ""},
		{"Ben Thole", "07700 900123", "ben.thole@example.org", "Gannet", "Harbour Light", "990047", "1047199"},
	} {
		in := c.takingIn()
		in.At = c.at.Add(time.Duration(i) * time.Hour)
		in.Customer = customer.Customer{Name: p.name, Phone: p.phone, Email: p.email}.Tidied("GB")
		in.Watch = watch.Watch{Maker: p.maker, Model: p.model, Serial: p.serial, MovementSerial: p.movement}.Tidied()
		in.NewCustomer, in.NewWatch = true, true
		n, err := c.TakeIn(t.Context(), in)
		if err != nil {
			t.Fatal(err)
		}
		numbers = append(numbers, n)
	}
	return numbers
}

func names(list []store.FoundCustomer) []string {
	var out []string
	for _, c := range list {
		out = append(out, c.Customer.Name)
	}
	return out
}

func owners(list []store.FoundWatch) []string {
	var out []string
	for _, w := range list {
		out = append(out, w.Owner)
	}
	return out
}

func TestFind(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	numbers := someDockets(t, c)
	const ada, zoe, li, david, ben = "Ada Quillmarsh", "Zoë O’Malley-Ångström", "李小龍", "דוד כהן", "Ben Thole"
	for _, tt := range []struct {
		typed string
		group store.FindGroup
		want  []string
	}{
		{"Quillmarsh", store.FoundNames, []string{ada}},
		{"quillmarsh ada", store.FoundNames, []string{ada}},
		{"Ada Thole", store.FoundNames, nil}, // both words, not either
		{"qui", store.FoundNames, []string{ada}},
		{"ÅNGSTRÖM", store.FoundNames, []string{zoe}},
		{"omalley", store.FoundNames, []string{zoe}},
		{"zoe ang", store.FoundNames, []string{zoe}},
		{"李", store.FoundNames, []string{li}},
		{"כהן", store.FoundNames, []string{david}},
		{"דוד", store.FoundNames, []string{david}},
		{"%", store.FoundNames, nil},
		{"01632 960123", store.FoundPhones, []string{ada}},
		{"+44 1632 960-123", store.FoundPhones, []string{ada}},
		{"0044 1632 960123", store.FoundPhones, []string{ada}},
		{"(01632) 960 123", store.FoundPhones, []string{ada}},
		{"0123", store.FoundPhones, nil}, // a leading nought is no digit of the number, and three are too few
		{"00123", store.FoundPhones, nil},
		{"960123", store.FoundPhones, []string{ada}},
		{"7946 0018", store.FoundPhones, []string{li}},
		{"044 668 18 00", store.FoundPhones, []string{zoe}}, // a Swiss number typed the Swiss way in a British shop
		{"668 18 00", store.FoundPhones, []string{zoe}},
		{"ADA@example", store.FoundEmails, []string{ada}},
		{"ben.thole", store.FoundEmails, []string{ben}},
		{"gannet", store.FoundWatches, []string{ada, li, ben}},
		{"gannet harbour", store.FoundWatches, []string{ben, ada}},
		{"Daughters", store.FoundWatches, []string{david}},
		{"fell 38", store.FoundWatches, []string{zoe}},
		{"1047-1", store.FoundSerials, []string{ada, ben}}, // look-alikes folded; the movement's serial too
		{"1o47i", store.FoundSerials, []string{ada, ben}},
		{"ts0099", store.FoundSerials, []string{zoe}},
		{"TS 0099/77", store.FoundSerials, []string{zoe}},
		{"55 01", store.FoundSerials, []string{li}},
	} {
		t.Run(tt.typed, func(t *testing.T) {
			t.Parallel()
			f, err := c.Find(t.Context(), store.FindQuery{Text: tt.typed, Region: "GB", Year: 2026})
			if err != nil {
				t.Fatal(err)
			}
			got := map[store.FindGroup][]string{store.FoundNames: names(f.Names), store.FoundPhones: names(f.Phones),
				store.FoundEmails: names(f.Emails), store.FoundWatches: owners(f.Watches),
				store.FoundSerials: owners(f.Serials)}[tt.group]
			if !slices.Equal(got, tt.want) {
				t.Errorf("%q found %q among %s, want %q", tt.typed, got, tt.group, tt.want)
			}
		})
	}
	f, err := c.Find(t.Context(), store.FindQuery{Text: "Quillmarsh", Region: "GB", Year: 2026})
	if err != nil || len(f.Names) != 1 || len(f.Names[0].Dockets) != 1 ||
		f.Names[0].Dockets[0].Number != numbers[0].String() {
		t.Errorf("a customer comes without their dockets: %+v, %v", f.Names, err)
	}
}

func TestFindByNumber(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	numbers := someDockets(t, c)
	third := numbers[2]
	wrong := third.String()[:len(third.String())-1] + "Z"
	swapped := docket.Number{Year: 2062, Seq: 3}.Compact()[:7] + third.Compact()[7:]
	for _, tt := range []struct {
		name, typed string
		exact       bool
		misread     bool
		first       docket.Number
		dockets     int
	}{
		{"with dashes", third.String(), true, false, third, 1},
		{"as a scanner sends it", third.Compact(), true, false, third, 1},
		{"small letters and spaces", " 26 00003 " + string(third.String()[len(third.String())-1]|0x20), true, false, third,
			1},
		{"the address of its page", "http://ledger.example/dockets/" + third.String() + "/service", true, false, third, 1},
		{"check character mistyped", wrong, false, true, third, 1},
		{"year mistyped", swapped, false, true, third, 1},
		{"without check character", "26-00003", false, false, third, 1},
		{"its beginning", "26-000", false, false, numbers[4], 5},
		{"its sequence alone", "3", false, false, third, 1},
		{"no such docket", docket.Number{Year: 2026, Seq: 77}.String(), false, false, docket.Number{}, 0},
		{"nothing like it", "harbour", false, false, docket.Number{}, 0},
		{"nothing", "", false, false, docket.Number{}, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			ctx, trips := storetest.CountRoundTrips(t.Context())
			f, err := c.Find(ctx, store.FindQuery{Text: tt.typed, Region: "GB", Year: 2026})
			if err != nil {
				t.Fatal(err)
			}
			if trips.Trips() > 1 {
				t.Errorf("%d round trips", trips.Trips())
			}
			if (f.Exact == third) != tt.exact || f.Exact != (docket.Number{}) && !tt.exact {
				t.Errorf("exactly %v", f.Exact)
			}
			if (f.Misread != nil) != tt.misread || tt.misread && f.LikelyCount == 0 {
				t.Errorf("misread %v, %d likely", f.Misread, f.LikelyCount)
			}
			if len(f.Dockets) != tt.dockets || tt.dockets > 0 && f.Dockets[0].Docket.Number != tt.first {
				t.Errorf("%d dockets found, want %d beginning with %v: %+v", len(f.Dockets), tt.dockets, tt.first, f.Dockets)
			}
		})
	}
}

// Every row of a long group is met once and in order, page by page.
func TestFindPages(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	const many = 47
	_, err := c.Pool().Exec(t.Context(), `INSERT INTO customer (name, name_key, phone_e164, email_key)
		SELECT 'Mar' || chr(97 + i % 7) || ' Reed', 'mar' || chr(97 + i % 7) || ' reed', '+44163' || lpad(i::text, 3, '0') || '5555', 'mar' || i % 5 || '@example.org'
		FROM generate_series(1, $1) i`, many)
	if err != nil {
		t.Fatal(err)
	}
	_, err = c.Pool().Exec(t.Context(), `INSERT INTO watch (customer_id, maker, words_key, serial_key, movement_serial_key)
		SELECT id, 'Gannet', 'gannet ' || id, 'SN' || id % 3, 'SN' || id FROM customer`)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		typed string
		group store.FindGroup
	}{{"mar", store.FoundNames}, {"mar re", store.FoundNames}, {"reed", store.FoundNames}, {"55-55", store.FoundPhones},
		{"mar@", store.FoundEmails},
		{"mar1@", store.FoundEmails}, {"gannet", store.FoundWatches}, {"SN1", store.FoundSerials},
		{"SN 2", store.FoundSerials}} {
		q := store.FindQuery{Text: tt.typed, Region: "GB", Year: 2026}
		seen := map[int64]int{}
		for range many {
			f, err := c.Find(t.Context(), q)
			if err != nil {
				t.Fatal(err)
			}
			customers := map[store.FindGroup][]store.FoundCustomer{store.FoundNames: f.Names, store.FoundPhones: f.Phones,
				store.FoundEmails: f.Emails}[tt.group]
			watches := map[store.FindGroup][]store.FoundWatch{store.FoundWatches: f.Watches,
				store.FoundSerials: f.Serials}[tt.group]
			for _, x := range customers {
				seen[x.Customer.ID]++
			}
			for _, x := range watches {
				seen[x.Watch.ID]++
			}
			page := len(customers) + len(watches)
			if page > store.FindPage {
				t.Errorf("%q: a page of %d rows", tt.typed, page)
			}
			from, more := f.Next(tt.group)
			if !more {
				break
			}
			q.Group, q.From = tt.group, from
		}
		want := findWant(t, c, tt.typed)
		if len(seen) != want {
			t.Errorf("%q: %d found, want %d", tt.typed, len(seen), want)
		}
		for id, n := range seen {
			if n > 1 && tt.group != store.FoundSerials { // a watch may be met under either of its serials
				t.Errorf("%q: row %d met %d times", tt.typed, id, n)
			}
		}
	}
}

// findWant counts what is to be found in another way, by looking at every row.
func findWant(t *testing.T, c *counter, typed string) int {
	t.Helper()
	condition := map[string]string{
		"mar": "c.name_key LIKE 'mar%'", "mar re": "c.name_key LIKE 'mar%'", "reed": "c.name_key LIKE '% reed'",
		"55-55": "true", "mar@": "false", "mar1@": "c.email_key LIKE 'mar1@%'", "gannet": "true",
		"SN1":  "w.serial_key LIKE 'SN1%' OR w.movement_serial_key LIKE 'SN1%'",
		"SN 2": "w.serial_key LIKE 'SN2%' OR w.movement_serial_key LIKE 'SN2%'",
	}[typed]
	var n int
	if err := c.Pool().QueryRow(t.Context(),
		`SELECT count(*) FROM customer c JOIN watch w ON w.customer_id = c.id WHERE `+condition).Scan(&n); err != nil {
		t.Fatal(fmt.Errorf("%q: %w", typed, err))
	}
	return n
}

// Where two words are common and stand seldom together, a page may be empty and the search still goes on to its end.
func TestFindGoesOnPastCommonWords(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	_, err := c.Pool().Exec(t.Context(), `INSERT INTO customer (name, name_key)
		SELECT n, lower(n) FROM (SELECT CASE WHEN i % 2 = 0 THEN 'Ann Reed' ELSE 'Bob Quill' END AS n FROM generate_series(1, 4600) i) x
		UNION ALL SELECT 'Ann Quill', 'ann quill'`)
	if err != nil {
		t.Fatal(err)
	}
	q := store.FindQuery{Text: "quill ann", Region: "GB", Year: 2026}
	f, err := c.Find(t.Context(), q)
	if err != nil {
		t.Fatal(err)
	}
	from, more := f.Next(store.FoundNames)
	if len(f.Names) != 0 || !more || f.Empty() {
		t.Fatalf("the first look: %d found, more %v", len(f.Names), more)
	}
	q.Group, q.From = store.FoundNames, from
	if f, err = c.Find(t.Context(), q); err != nil {
		t.Fatal(err)
	}
	if got := names(f.Names); !slices.Equal(got, []string{"Ann Quill"}) {
		t.Errorf("the second look found %q", got)
	}
	if _, more := f.Next(store.FoundNames); more {
		t.Error("the search does not end")
	}
}

// TestFindForgives: a slip in a word, a space where the record has an apostrophe, and owner and watch in one line.
func TestFindForgives(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	someDockets(t, c)
	const ada, zoe, ben = "Ada Quillmarsh", "Zoë O’Malley-Ångström", "Ben Thole"
	for _, tt := range []struct {
		typed, instead string
		group          store.FindGroup
		want           []string
	}{
		{"o malley", "", store.FoundNames, []string{zoe}},
		{"O Malley zoe", "", store.FoundNames, []string{zoe}},
		{"o'malley", "", store.FoundNames, []string{zoe}},
		{"o maley", "omalley", store.FoundNames, []string{zoe}},
		{"quilmarsh", "quillmarsh", store.FoundNames, []string{ada}},
		{"ada qiullmarsh", "ada quillmarsh", store.FoundNames, []string{ada}},
		{"Quillmrash", "quillmarsh", store.FoundNames, []string{ada}},
		{"tarnsyde", "tarnside", store.FoundWatches, []string{zoe}},
		{"qulmrsh", "", store.FoundNames, nil}, // two slips
		{"adda", "", store.FoundNames, nil},    // ada is too short a word to be guessed
		{"thole gannet", "", store.FoundBoth, []string{ben}},
		{"gannet quill", "", store.FoundBoth, []string{ada}},
		{"ben gannet harbour", "", store.FoundBoth, []string{ben}},
		{"thole tarnside", "", store.FoundBoth, nil},
		{"gannet harbour", "", store.FoundBoth, nil}, // both are the watch's
		{"thole ganet", "thole gannet", store.FoundBoth, []string{ben}},
	} {
		found, err := c.Find(t.Context(), store.FindQuery{Text: tt.typed, Region: "GB", Year: 2026})
		if err != nil {
			t.Fatal(err)
		}
		got := map[store.FindGroup][]string{store.FoundNames: names(found.Names), store.FoundWatches: owners(found.Watches),
			store.FoundBoth: owners(found.Both)}[tt.group]
		if !slices.Equal(got, tt.want) || found.Instead != tt.instead {
			t.Errorf("%q finds %q of %s instead of it %q, want %q and %q", tt.typed, got, tt.group, found.Instead, tt.want,
				tt.instead)
		}
	}
}

// TestSlipsFollowTheWords: what is renamed is found by its new name and no longer by its old one.
func TestSlipsFollowTheWords(t *testing.T) {
	t.Parallel()
	c := newCounter(t)
	someDockets(t, c)
	if _, err := c.Pool().Exec(t.Context(),
		`UPDATE customer SET name = 'Ada Fennimore', name_key = 'ada fennimore' WHERE name_key = 'ada quillmarsh'`); err != nil {
		t.Fatal(err)
	}
	for typed, want := range map[string]int{"quilmarsh": 0, "fenimore": 1} {
		found, err := c.Find(t.Context(), store.FindQuery{Text: typed, Region: "GB", Year: 2026})
		if err != nil || len(found.Names) != want {
			t.Errorf("%q finds %q (%v)", typed, names(found.Names), err)
		}
	}
}
