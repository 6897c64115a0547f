package staff_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"ledgerwheel/domain/staff"
)

// What each role may do, written out a second time: o owner, w watchmaker, c counter clerk.
const wantHolders = `
view-dockets owc
view-journal owc
print-papers owc
add-photos owc
add-notes owc
tell-customers owc
move-watch owc
pass-to-bench owc
use-bench-tools owc
manage-own-account owc
manage-watches owc
send-estimate owc
order-parts owc
diagnose ow
decide-cover ow
price-estimate ow
need-parts ow
do-service ow
take-readings ow
do-final-test ow
manage-stock ow
manage-calibres ow
manage-recorders ow
manage-customers oc
take-in oc
see-watch-list oc
record-approval oc
withdraw oc
take-payment oc
close-till oc
move-till oc
hand-over oc
issue-invoices oc
credit-invoices o
print-card oc
merge-customers oc
export-customers o
erase-customers o
issue-card-by-order oc
write-notices oc
write-formal-notices o
issue-card o
void-card o
remove-photos o
charge-more o
cover-otherwise o
override o
manage-watch-list o
manage-prices o
manage-rate-limits o
manage-staff o
manage-settings o
manage-keys o
take-away o
manage-tokens o
check-record o
view-figures o
see-books o
see-access o
`

func TestWhoMayDoWhat(t *testing.T) {
	t.Parallel()
	letters := map[staff.Role]string{staff.Owner: "o", staff.Watchmaker: "w", staff.Clerk: "c"}
	lines := strings.Split(strings.TrimSpace(wantHolders), "\n")
	if len(lines) != len(staff.Rules()) {
		t.Errorf("%d rules, want %d", len(staff.Rules()), len(lines))
	}
	for _, line := range lines {
		name, who, _ := strings.Cut(line, " ")
		perm := staff.Permission(name)
		for _, role := range staff.Roles() {
			want := strings.Contains(who, letters[role])
			if got := staff.Can(role, perm); got != want {
				t.Errorf("%s may %s: %v, want %v", role, perm, got, want)
			}
			if slices.Contains(perm.Holders(), role) != want {
				t.Errorf("holders of %s: %v", perm, perm.Holders())
			}
		}
		for _, role := range []staff.Role{"", "Owner", "guest"} {
			if staff.Can(role, perm) {
				t.Errorf("role %q may %s", role, perm)
			}
		}
	}
}

func TestRulesAreWhole(t *testing.T) {
	t.Parallel()
	seen := map[staff.Permission]bool{}
	for _, r := range staff.Rules() {
		if seen[r.Permission] || r.Words == "" || r.Permission.Words() != r.Words {
			t.Errorf("%s is listed twice or has no words", r.Permission)
		}
		seen[r.Permission] = true
		if !slices.Contains(r.Holders, staff.Owner) {
			t.Errorf("the owner may not %s", r.Words)
		}
	}
	if staff.Can(staff.Owner, "fly") || staff.Permission("fly").Holders() != nil ||
		staff.Permission("fly").Words() != "do something unknown" {
		t.Error("an unknown permission is held by somebody")
	}
	staff.Rules()[0].Holders[0] = "guest" // a copy: the table itself can't be changed from outside
	if staff.Can("guest", staff.Rules()[0].Permission) {
		t.Error("the table was changed from outside")
	}
}

func TestRoles(t *testing.T) {
	t.Parallel()
	for role, label := range map[staff.Role]string{staff.Owner: "owner", staff.Watchmaker: "watchmaker",
		staff.Clerk: "counter clerk", "guest": "unknown role"} {
		if role.Label() != label || role.Known() != (role != "guest") {
			t.Errorf("%s: %q, known %v", role, role.Label(), role.Known())
		}
	}
}

func TestMemberCan(t *testing.T) {
	t.Parallel()
	m := staff.Member{Role: staff.Owner}
	if !m.Can(staff.ManageStaff) {
		t.Error("an owner may not manage staff")
	}
	m.Disabled = true
	if m.Can(staff.ViewDockets) {
		t.Error("a disabled member may still look")
	}
}

func TestMemberProblems(t *testing.T) {
	t.Parallel()
	good := staff.Member{Name: "Zoë O’Dunne", Email: "zoe@ternquay.example", Role: staff.Clerk}
	for _, name := range []string{"Zoë O’Dunne", "נועה שחר", "李 明", "Ngozi D'Arc-Ō", strings.Repeat("é", 100)} {
		m := good
		m.Name = name
		if bad := m.Problems(); len(bad) > 0 {
			t.Errorf("%q: %v", name, bad)
		}
	}
	for _, email := range []string{"a@b.example", "first.last+tag@sub.example.org", "用户@例子.example", "o'dunne@x.example"} {
		m := good
		m.Email = email
		if bad := m.Problems(); len(bad) > 0 {
			t.Errorf("%q: %v", email, bad)
		}
	}
	for _, email := range []string{"", " ", "zoe", "zoe@", "@x.example", "zoe@localhost", "zoe@x.example.",
		"a b@x.example",
		"Zoë <zoe@x.example>", "zoe@x.example, una@x.example", "zoe@.example", strings.Repeat("a", 250) + "@x.example"} {
		m := good
		m.Email = email
		if bad := m.Problems(); len(bad) != 1 || bad["email"] == "" {
			t.Errorf("%q: %v", email, bad)
		}
	}
	for _, name := range []string{"", "  ", "a\x00b", "a\nb", "\xff", strings.Repeat("é", 101)} {
		m := good
		m.Name = name
		if bad := m.Problems(); len(bad) != 1 || bad["name"] == "" {
			t.Errorf("%q: %v", name, bad)
		}
	}
	if bad := (staff.Member{}).Problems(); len(bad) != 3 {
		t.Errorf("an empty member: %v", bad)
	}
}

func TestNormalForms(t *testing.T) {
	t.Parallel()
	// é composed and decomposed are one address (Unicode Standard Annex 15).
	if got := staff.NormalEmail(" Zoe\u0301@Tern.EXAMPLE "); got != "zo\u00e9@tern.example" {
		t.Errorf("NormalEmail = %q", got)
	}
	if got := staff.NormalName("  Zoe\u0301 \t O’Dunne "); got != "Zo\u00e9 O’Dunne" {
		t.Errorf("NormalName = %q", got)
	}
	// Full-width letters and the ligature ﬁ fold under NFKC (Unicode Standard Annex 15).
	if got := staff.NormalPassword("ｂalance \ufb01sh"); got != "balance fish" {
		t.Errorf("NormalPassword = %q", got)
	}
}

func TestPasswords(t *testing.T) {
	t.Parallel()
	una, shopName := staff.Member{Name: "Una Sandler", Email: "una.sandler@ternquay.example"}, "Tern Quay Watch Works"
	for _, good := range []string{
		"tern on the slipway", "correct mussel basin", "пять чаек летят", "七つの海を渡るかもめたち",
		"K7!fz$2qLm#9", "sandler basin rope tar", "8273940165238", strings.Repeat("tern on the slipway, ", 6)[:110] + "and then some more",
		// the demo's, which everybody knows, and those of the tests: none is let through for its fame alone
		"lighthouse brass ledger", "loupe tweezers tide", "ticket harbour bell", "brass harbour lantern", "tide table clock",
	} {
		if p := staff.PasswordProblem(good, una, shopName); p != "" {
			t.Errorf("%q refused: %s", good, p)
		}
	}
	for bad, says := range map[string]string{
		"ticketharbour": "guessed too soon: it is made of a common word", "Summer2026!!!": "a date or year and a repetition", "liverpool2024": "side by side",
		"mechanicalwatch": "a common word", "januaryfebruary": "guessed too soon", "            x": "a repetition", "wristwatch2026": "guessed too soon",
		strings.Repeat("ab cdefgh", 14) + "xy": "a repetition", "poiuytrewqlkj": "a run such as", "manchesterunited1": "guessed too soon",
		"ternquaywatchworks1": "the shop's name", "TernQuay2026!": "the shop's name", "Tern Quay clock": "the shop's name",
		"":                             "at least 12",
		"short":                        "at least 12",
		"elevenchars":                  "at least 12",
		"éééééééáááá":                  "at least 12", // 11 characters in 22 bytes
		strings.Repeat("ab cd", 26):    "at most 128",
		"Password1234":                 "first that anyone",
		"password2026!!":               "first that anyone",
		"PASSWORDPASSWORD":             "first that anyone",
		"passwordpassword":             "first that anyone",
		"aaaaaaaaaaaa":                 "first that anyone",
		"121212121212":                 "first that anyone",
		"123456123456":                 "first that anyone",
		"123456789012":                 "first that anyone",
		"987654321098":                 "first that anyone",
		"abcdefghijkl":                 "first that anyone",
		"qwertyuiop12":                 "first that anyone",
		"Iloveyou2026":                 "first that anyone",
		"112233445566":                 "first that anyone",
		"correcthorsebatterystaple":    "first that anyone",
		"una.sandler@ternquay.example": "your name",
		"UNA SANDLER 26":               "your name",
		"unasandler2026":               "your name",
		"Sandler-1234":                 "your name",
		"ternquay.example":             "your name",
		"twelve\xffbytes":              "no text",
	} {
		if p := staff.PasswordProblem(bad, una, shopName); !strings.Contains(p, says) {
			t.Errorf("%q: %q, want %q", bad, p, says)
		}
	}
}

// No kind of character is asked for: random lower-case words of enough length always do.
func TestPasswordsAskForNoKinds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		password := rapid.StringMatching(`[a-z]{13,40}x[g-p][q-z]`).Draw(t, "password")
		distinct := map[rune]bool{}
		for _, r := range password {
			distinct[r] = true
		}
		if p := staff.PasswordProblem(password, staff.Member{}, ""); p != "" && len(distinct) > 8 {
			t.Fatalf("%q refused: %s", password, p)
		}
	})
}

func TestInvite(t *testing.T) {
	t.Parallel()
	made := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	i := staff.Invite{MemberID: 1, MadeBy: 2, MadeAt: made}
	for _, c := range []struct {
		name string
		i    staff.Invite
		at   time.Time
		want error
	}{
		{"at once", i, made, nil},
		{"last moment", i, made.Add(72*time.Hour - 1), nil},
		{"72 h", i, made.Add(72 * time.Hour), staff.ErrInviteExpired},
		{"used", staff.Invite{MadeAt: made, UsedAt: made}, made, staff.ErrInviteUsed},
		{"revoked", staff.Invite{MadeAt: made, RevokedAt: made}, made, staff.ErrInviteRevoked},
		{"used and expired", staff.Invite{MadeAt: made, UsedAt: made}, made.Add(100 * time.Hour), staff.ErrInviteUsed},
		{"blank", staff.Invite{}, made, staff.ErrInviteExpired},
	} {
		if got := c.i.Check(c.at); !errors.Is(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestLastOwnerStays(t *testing.T) {
	t.Parallel()
	owner := staff.Member{ID: 1, Role: staff.Owner}
	disabled := staff.Member{ID: 1, Role: staff.Owner, Disabled: true}
	clerk := staff.Member{ID: 1, Role: staff.Clerk}
	for _, c := range []struct {
		name          string
		before, after staff.Member
		others        int
		want          error
	}{
		{"last disabled", owner, disabled, 0, staff.ErrLastOwner},
		{"last demoted", owner, clerk, 0, staff.ErrLastOwner},
		{"one of two disabled", owner, disabled, 1, nil},
		{"one of two demoted", owner, clerk, 1, nil},
		{"renamed", owner, staff.Member{ID: 1, Role: staff.Owner, Name: "New"}, 0, nil},
		{"clerk disabled", clerk, staff.Member{ID: 1, Role: staff.Clerk, Disabled: true}, 0, nil},
		{"disabled owner demoted", disabled, clerk, 0, nil},
		{"enabled again", disabled, owner, 0, nil},
	} {
		if got := staff.CheckChange(c.before, c.after, c.others); !errors.Is(got, c.want) {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
