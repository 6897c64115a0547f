package customer_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/domain/customer"

	"pgregory.net/rapid"
)

// The British numbers are from the ranges that Ofcom keeps for drama (01632
// 960000 to 960999, 020 7946 0000 to 0999, 07700 900000 to 900999); the American from 555-0100 to 0199, kept
// for fiction by the numbering plan; both from memory. E.164 forms follow from
// ITU-T E.164: + , country code, national number without its trunk 0.
func TestNormalisePhone(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		typed, region, want string
		ok                  bool
	}{
		{"01632 960123", "GB", "+441632960123", true},
		{"(01632) 960-123", "GB", "+441632960123", true},
		{"+44 (0)1632 960123", "CH", "+441632960123", true},
		{"0044 1632 960123", "CH", "+441632960123", true},
		{"07700 900123", "gb", "+447700900123", true},
		{"212-555-0123", "US", "+12125550123", true},
		{"+1 212 555 0123 ext. 7", "GB", "+12125550123", true},
		{"٠١٦٣٢٩٦٠١٢٣", "GB", "+441632960123", true},  // Arabic-Indic digits
		{"０１６３２ ９６０１２３", "GB", "+441632960123", true}, // full width
		{"123", "GB", "", false},
		{"ask for Ada", "GB", "", false},
		{"01632 960123 4567890", "GB", "", false},
		{"01632 960123", "", "", false}, // no region to read it in
		{"", "GB", "", false},
	} {
		got, ok := customer.NormalisePhone(tt.typed, tt.region)
		if got != tt.want || ok != tt.ok {
			t.Errorf("NormalisePhone(%q, %q) = %q, %v, want %q, %v", tt.typed, tt.region, got, ok, tt.want, tt.ok)
		}
	}
}

func TestProblems(t *testing.T) {
	t.Parallel()
	good := customer.Customer{Name: "Ada Quill", Phone: "01632 960123", Email: "ada@example.org", Address: "1 Quay Street"}
	for _, tt := range []struct {
		name   string
		change func(*customer.Customer)
		fields []string
	}{
		{"good", func(*customer.Customer) {}, nil},
		{"a telephone and no name", func(c *customer.Customer) { c.Name = " \t " }, nil},
		{"neither name nor telephone", func(c *customer.Customer) { c.Name, c.Phone = " \t ", "" }, []string{"name"}},
		{"long name", func(c *customer.Customer) { c.Name = strings.Repeat("é", customer.MaxName+1) }, []string{"name"}},
		{"longest name", func(c *customer.Customer) { c.Name = strings.Repeat("é", customer.MaxName) }, nil},
		{"any script", func(c *customer.Customer) { c.Name = "李小龍 דוד Nguyễn D’Árcy-Ó Sé" }, nil},
		{"phone unreadable", func(c *customer.Customer) { c.Phone = "12" }, []string{"phone"}},
		{"no e-mail domain", func(c *customer.Customer) { c.Email = "ada@" }, []string{"email"}},
		{"e-mail with name", func(c *customer.Customer) { c.Email = "Ada <ada@example.org>" }, []string{"email"}},
		{"two e-mails", func(c *customer.Customer) { c.Email = "a@example.org, b@example.org" }, []string{"email"}},
		{"international e-mail", func(c *customer.Customer) { c.Email = "žofie@příklad.example" }, nil},
		{"a name alone", func(c *customer.Customer) { c.Phone, c.Email, c.Address = "", "", "" }, nil},
		{"address alone", func(c *customer.Customer) { c.Phone, c.Email = "", "" }, nil},
		{"wants e-mail, has none", func(c *customer.Customer) { c.Email, c.PreferredContact = "", customer.ContactEmail },
			[]string{"preferred_contact"}},
		{"wants text, no phone", func(c *customer.Customer) { c.Phone, c.PreferredContact = "", customer.ContactText },
			[]string{"preferred_contact"}},
		{"wants post, no address", func(c *customer.Customer) { c.Address, c.PreferredContact = "", customer.ContactPost },
			[]string{"preferred_contact"}},
		{"unknown language", func(c *customer.Customer) { c.Tongue = "xx" }, []string{"tongue"}},
		{"unknown way", func(c *customer.Customer) { c.PreferredContact = "pigeon" }, []string{"preferred_contact"}},
		{"everything long", func(c *customer.Customer) {
			c.Address, c.Notes = strings.Repeat("a", customer.MaxAddress+1), strings.Repeat("a", customer.MaxNotes+1)
			c.Email, c.Phone = strings.Repeat("a", 255)+"@example.org", strings.Repeat("1", 61)
		}, []string{"address", "email", "notes", "phone"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			c := good
			tt.change(&c)
			got := slices.Sorted(maps.Keys(c.Tidied("GB").Problems()))
			if !slices.Equal(got, tt.fields) {
				t.Errorf("problems with %v, want %v", got, tt.fields)
			}
		})
	}
}

func TestWordsOfContacts(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, c := range customer.Contacts {
		seen[c.Words()] = true
	}
	if len(seen) != len(customer.Contacts) {
		t.Errorf("%d contacts share %d wordings", len(customer.Contacts), len(seen))
	}
}

func TestFoldName(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ a, b string }{
		{"Zoë Ångström", "zoe angstrom"},
		{"O'Malley", "O’MALLEY"},
		{"Straße", "STRASSE"},
		{"Łukasz Wójcik", "lukasz wojcik"},
		{"Søren Kjær", "soren kjaer"},
		{"Ada  Quill-Marsh", "ada quill marsh"},
		{"ﬁona", "Fiona"},
		{"Θάλεια", "ΘΑΛΕΙΑ"},
		{"Йорданов", "ЙОРДАНОВ"},
		{"ｱﾀﾞ", "アダ"},
		{"ꭰ", "Ꭰ"}, // Cherokee folds to capitals
		{"מֹשֶׁה", "משה"},
		{"مُحَمَّد", "محمد"},
	} {
		if customer.FoldName(tt.a) != customer.FoldName(tt.b) {
			t.Errorf("%q folds to %q, %q to %q", tt.a, customer.FoldName(tt.a), tt.b, customer.FoldName(tt.b))
		}
	}
	for _, tt := range []struct{ a, b string }{
		{"रीता", "रता"},    // vowel signs are letters
		{"かく", "がく"},       // so are voicing marks
		{"Anna", "Hannah"}, // and letters
	} {
		if customer.FoldName(tt.a) == customer.FoldName(tt.b) {
			t.Errorf("%q and %q both fold to %q", tt.a, tt.b, customer.FoldName(tt.a))
		}
	}
}

func TestFoldNameTwiceChangesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.String().Draw(t, "name")
		once := customer.FoldName(name)
		if twice := customer.FoldName(once); twice != once {
			t.Fatalf("%q folds to %q, then to %q", name, once, twice)
		}
	})
}

func TestLikeness(t *testing.T) {
	t.Parallel()
	ada := customer.Customer{Name: "Ada Quillmarsh", Phone: "01632 960123", Email: "Ada@Example.org"}
	for _, tt := range []struct {
		name  string
		other customer.Customer
		want  customer.Reasons
	}{
		{"all the same", ada, customer.Reasons{customer.SamePhone, customer.SameEmail, customer.SameName}},
		{"phone typed otherwise", customer.Customer{Name: "B", Phone: "+44 1632 960 123"},
			customer.Reasons{customer.SamePhone}},
		{"e-mail in other case", customer.Customer{Name: "B", Email: "ada@example.ORG"},
			customer.Reasons{customer.SameEmail}},
		{"one letter out", customer.Customer{Name: "Ada Quilmarsh"}, customer.Reasons{customer.NearName}},
		{"two letters swapped", customer.Customer{Name: "Ada Quillmrash"}, customer.Reasons{customer.NearName}},
		{"other order", customer.Customer{Name: "QUILLMARSH, Ada"}, customer.Reasons{customer.NearName}},
		{"another person", customer.Customer{Name: "Ben Thole", Phone: "01632 960124", Email: "ben@example.org"}, nil},
		{"nothing in common but blanks", customer.Customer{}, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			got := customer.Likeness(ada.Tidied("GB"), tt.other.Tidied("GB"))
			if !slices.Equal(got, tt.want) {
				t.Errorf("got %q, want %q", got.Words(), tt.want.Words())
			}
		})
	}
	short := customer.Likeness(customer.Customer{Name: "Li"}, customer.Customer{Name: "Lu"})
	if len(short) != 0 {
		t.Errorf("short names are not near: got %q", short.Words())
	}
}

func TestLikenessIsMutual(t *testing.T) {
	t.Parallel()
	names := rapid.SampledFrom([]string{"Ada Quill", "Ada Quil", "Adda Quill", "Quill Ada", "Ben Thole", "Ben Thloe", "Bn",
		""})
	rapid.Check(t, func(t *rapid.T) {
		a, b := customer.Customer{Name: names.Draw(t, "a")}, customer.Customer{Name: names.Draw(t, "b")}
		if ab, ba := customer.Likeness(a, b), customer.Likeness(b, a); !slices.Equal(ab, ba) {
			t.Fatalf("%q: %q, turned round %q", a.Name+"/"+b.Name, ab.Words(), ba.Words())
		}
	})
}

func BenchmarkFoldName(b *testing.B) {
	for b.Loop() {
		customer.FoldName("Zoë O’Malley-Ångström")
	}
}

func TestNamed(t *testing.T) {
	t.Parallel()
	if got := (customer.Customer{Phone: "01632 960123"}).Named().Name; got != "01632 960123" {
		t.Errorf("who gave a number alone is called %q", got)
	}
	if got := (customer.Customer{Name: "Ada", Phone: "01632 960123"}).Named().Name; got != "Ada" {
		t.Errorf("Ada is called %q", got)
	}
}

func TestFieldFor(t *testing.T) {
	t.Parallel()
	for typed, want := range map[string]string{"01632 960731": "phone", "+49 30 23125113": "phone", "(01632) 960-731": "phone",
		"ada@example.org": "email", "ada@": "email", "Siobhán O'Hara": "name", "李小龍": "name", "PW 48 213": "", "1O47-I": "",
		"48213": "", "12": "", " ": "", "0163296073X": ""} {
		if got := customer.FieldFor(typed, "GB"); got != want {
			t.Errorf("%q goes into %q, want %q", typed, got, want)
		}
	}
}
