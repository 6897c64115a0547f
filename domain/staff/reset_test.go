package staff_test

import (
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
)

func TestOwnerToReset(t *testing.T) {
	t.Parallel()
	una := staff.Member{ID: 1, Name: "Una", Email: "una@tern.example", Role: staff.Owner}
	second := staff.Member{ID: 2, Name: "Ossian", Email: "ossian@tern.example", Role: staff.Owner}
	gone := staff.Member{ID: 3, Name: "Gilda", Email: "gilda@tern.example", Role: staff.Owner, Disabled: true}
	clerk := staff.Member{ID: 4, Name: "Kit", Email: "kit@tern.example", Role: staff.Clerk}
	for _, c := range []struct {
		people []staff.Member
		email  string
		id     int64
		says   string
	}{
		{[]staff.Member{clerk, una, gone}, "", 1, ""},
		{[]staff.Member{clerk, una, second}, " Ossian@Tern.example", 2, ""},
		{[]staff.Member{una, second}, "", 0, "2 owners, name one: the owners' addresses are una@tern.example, ossian@tern.example"},
		{[]staff.Member{una, clerk}, "nobody@tern.example", 0, `nobody in the shop has the address "nobody@tern.example": the owner's address is una@tern.example`},
		{[]staff.Member{una, clerk}, "kit@tern.example", 0, "is no owner"},
		{[]staff.Member{una, gone}, "gilda@tern.example", 0, "is disabled"},
		{nil, "", 0, "no owner yet"},
	} {
		m, err := staff.OwnerToReset(c.people, c.email)
		if c.says == "" && (err != nil || m.ID != c.id) {
			t.Errorf("%q: %v, %v", c.email, m, err)
		}
		if c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)) {
			t.Errorf("%q: %v, want %q", c.email, err, c.says)
		}
	}
}
