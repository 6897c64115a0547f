package customer_test

import (
	"testing"

	"ledgerwheel/domain/customer"

	"pgregory.net/rapid"
)

// How numbers are grouped follows each country's plan as libphonenumber has it; the numbers are those of
// TestNormalisePhone, a Swiss and an Italian one (whose nought belongs to the number) made up.
func TestPhoneIn(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ typed, read, home, want string }{
		{"(01632) 960-052", "GB", "GB", "01632 960052"},
		{"01632 960052", "GB", "gb", "01632 960052"},
		{"01632 960052", "GB", "DE", "+44 1632 960052"},
		{"01632 960052", "GB", "CH", "+44 1632 960052"},
		{"+44 1632 960052", "DE", "GB", "01632 960052"},
		{"044 668 18 00", "CH", "CH", "044 668 18 00"},
		{"044 668 18 00", "CH", "GB", "+41 44 668 18 00"},
		{"06 6982 0000", "IT", "IT", "06 6982 0000"},
		{"06 6982 0000", "IT", "GB", "+39 06 6982 0000"},
		{"212-555-0123", "US", "US", "(212) 555-0123"},
		{"+1 212 555 0123 ext. 7", "GB", "GB", "+1 212-555-0123 ext. 7"},
		{"212 555 0123 x7", "US", "US", "(212) 555-0123 ext. 7"},
		{"01632 960052", "GB", "", "+44 1632 960052"},
	} {
		c := customer.Customer{Phone: tt.typed}.Tidied(tt.read)
		if got := c.PhoneIn(tt.home); got != tt.want {
			t.Errorf("%q read in %s is %q in %q, want %q", tt.typed, tt.read, got, tt.home, tt.want)
		}
		if again := (customer.Customer{Phone: tt.want}).Tidied(tt.home); again.PhoneE164 != c.PhoneE164 {
			t.Errorf("%q is %s, and reads back in %s as %s", tt.want, c.PhoneE164, tt.home, again.PhoneE164)
		}
	}
	if got := (customer.Customer{Phone: "ask at the mill", PhoneUnread: true}).PhoneIn("GB"); got != "ask at the mill" {
		t.Errorf("what was never read is shown as %q", got)
	}
}

// Whatever number is kept, people in any country read the same one back from how it is shown there.
func TestShownPhoneReadsBack(t *testing.T) {
	t.Parallel()
	regions := []string{"GB", "DE", "CH", "IT", "US", "CA", "FR", "JP", "SM", "CI", "AR", "MX", "AU", "RU"}
	rapid.Check(t, func(t *rapid.T) {
		typed := rapid.StringMatching(`(0|00|\+)?[1-9][0-9]{5,12}( ext [1-9][0-9]{0,3})?`).Draw(t, "typed")
		c := customer.Customer{Phone: typed}.Tidied(rapid.SampledFrom(regions).Draw(t, "read"))
		if c.PhoneE164 == "" {
			t.Skip("no number")
		}
		home := rapid.SampledFrom(regions).Draw(t, "home")
		shown := c.PhoneIn(home)
		if got, _ := customer.NormalisePhone(shown, home); got != c.PhoneE164 {
			t.Fatalf("%q is %s, shown in %s as %q, which reads %q", typed, c.PhoneE164, home, shown, got)
		}
	})
}

// A number is read once: what a form didn't change stays as it was read, in whatever country the shop is by now.
func TestANumberIsReadOnce(t *testing.T) {
	t.Parallel()
	was := customer.Customer{ID: 7, Name: "Ada Quill", Phone: "01632 960052"}.Tidied("GB")
	if was.PhoneE164 != "+441632960052" || was.PhoneRegion != "GB" {
		t.Fatalf("read as %q in %q", was.PhoneE164, was.PhoneRegion)
	}
	shownAtHome := was.PhoneIn("GB")
	for _, region := range []string{"GB", "DE", "CH"} {
		for _, shown := range []string{was.PhoneIn(region), shownAtHome} { // the form may be older than the setting
			form := customer.Customer{Name: "Ada Quill", Phone: shown, Notes: "Left-handed."}
			got := form.Over(was, shown, region)
			if len(got.Problems()) > 0 || got.ID != 7 || got.Notes == "" || got.Phone != was.Phone ||
				got.PhoneE164 != was.PhoneE164 || got.PhoneRegion != "GB" {
				t.Errorf("in %s, shown as %q: %+v, %v", region, shown, got, got.Problems())
			}
		}
	}
	typed := customer.Customer{Name: "Ada Quill", Phone: "030 901820"}.Over(was, was.PhoneIn("DE"), "DE")
	if typed.PhoneE164 != "+4930901820" || typed.PhoneRegion != "DE" {
		t.Errorf("a number typed anew: %+v", typed)
	}
	gone := customer.Customer{Name: "Ada Quill", Email: "ada@example.org"}.Over(was, "", "GB")
	if gone.Phone != "" || gone.PhoneE164 != "" {
		t.Errorf("a number taken out: %+v", gone)
	}

	unread := customer.Customer{Name: "Old Tom", Phone: "the mill", PhoneUnread: true}
	if got := (customer.Customer{Name: "Tom", Phone: "the mill"}).Over(unread, "the mill", "GB"); len(got.Problems()) > 0 ||
		!got.PhoneUnread {
		t.Errorf("a text that was never read stops a name's correction: %v", got.Problems())
	}
	if got := (customer.Customer{Name: "Tom", Phone: "the old mill"}).Over(unread, "the mill", "GB"); got.PhoneUnread ||
		got.Problems()["phone"] == "" {
		t.Error("a text that can't be dialled was taken for a number")
	}
}
