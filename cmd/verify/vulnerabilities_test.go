package main

import (
	"slices"
	"strings"
	"testing"
)

// TestVulnerabilitiesAreFound plants an entry against a function of the standard library and finds who calls it, so that a
// release of govulncheck that reads the database's folder no more is noticed. The entry's form is OSV 1.3.1.
func TestVulnerabilitiesAreFound(t *testing.T) {
	db := write(t, map[string]string{"GO-2026-9999.json": `{"schema_version": "1.3.1", "id": "GO-2026-9999",
		"modified": "2026-01-01T00:00:00Z", "published": "2026-01-01T00:00:00Z", "summary": "planted", "details": "planted",
		"affected": [{"package": {"name": "stdlib", "ecosystem": "Go"},
			"ranges": [{"type": "SEMVER", "events": [{"introduced": "0"}, {"fixed": "99.0.1"}]}],
			"ecosystem_specific": {"imports": [{"path": "net/netip", "symbols": ["ParsePrefix"]}]}}],
		"database_specific": {"url": "https://pkg.go.dev/vuln/GO-2026-9999"}}`})
	r := &run{root: "../..", scratch: t.TempDir()}
	for body, called := range map[string]bool{`netip.ParsePrefix("")`: true, `netip.ParseAddr("")`: false} {
		dir := write(t, map[string]string{"go.mod": "module sample\n\ngo 1.26\n",
			"main.go": "package main\n\nimport \"net/netip\"\n\nfunc main() { " + body + " }\n"})
		found, err := r.scan(t.Context(), dir, db, "./...")
		if err != nil {
			t.Fatal(err)
		}
		got := slices.ContainsFunc(found, func(f finding) bool { return f.OSV == "GO-2026-9999" && f.Trace[0].Function == "ParsePrefix" })
		if got != called {
			t.Errorf("%s: found called: %v, of %+v", body, got, found)
		}
	}
	if _, err := r.scan(t.Context(), write(t, map[string]string{"go.mod": "module sample\n\ngo 1.26\n", "a.go": "package sample\n"}),
		t.TempDir(), "./..."); err == nil {
		t.Error("an empty database passes for a clean answer")
	}
}

func TestVulnerabilitiesAreJudged(t *testing.T) {
	t.Parallel()
	const said = `{"config":{"protocol_version":"v1.0.0"}}
{"osv":{"id":"GO-2026-0001"}}
{"finding":{"osv":"GO-2026-0001","fixed_version":"v1.26.9","trace":[{"module":"stdlib","version":"v1.26.8"}]}}
{"finding":{"osv":"GO-2026-0001","fixed_version":"v1.26.9","trace":[{"module":"stdlib","version":"v1.26.8","package":"net/http","function":"Do"}]}}
{"finding":{"osv":"GO-2026-0002","fixed_version":"v1.26.10","trace":[{"module":"stdlib","version":"v1.26.8","package":"net/http","function":"Get"}]}}
{"finding":{"osv":"GO-2026-0003","fixed_version":"v1.27.1","trace":[{"module":"stdlib","version":"v1.26.8","package":"net/http","function":"Get"}]}}
{"finding":{"osv":"GO-2026-0004","fixed_version":"v1.26.11","trace":[{"module":"stdlib","version":"v1.26.8","package":"net/http"}]}}
`
	const gear = `{"finding":{"osv":"GO-2026-0005","fixed_version":"v1.2.3","trace":[{"module":"example.com/gear","version":"v1.0.0"}]}}
`
	const built = `{"finding":{"osv":"GO-2026-0005","fixed_version":"v1.2.3","trace":[{"module":"example.com/gear","version":"v1.0.0","package":"example.com/gear/oil"}]}}
`
	for _, c := range []struct {
		said           string
		changeable     bool
		faults, others int
		says           string
	}{
		{said, true, 1, 1, "2 vulnerabilities in the standard library of go1.26.8 are called (GO-2026-0001, GO-2026-0002): go1.26.10 puts them right"},
		{said, false, 0, 2, "WARNING: 2 vulnerabilities"},
		{said + gear, false, 0, 3, "note: GO-2026-0005 touches example.com/gear v1.0.0, in no package"},
		{said + gear + built, false, 1, 2, "package example.com/gear/oil: take v1.2.3"},
	} {
		found, err := findings(strings.NewReader(c.said))
		if err != nil {
			t.Fatal(err)
		}
		faults, notes := judge(found, "go1.26.8", c.changeable)
		if len(faults) != c.faults || len(notes) != c.others || !strings.Contains(strings.Join(append(faults, notes...), "\n"), c.says) {
			t.Errorf("want %q; faults %q, notes %q", c.says, faults, notes)
		}
	}
	if _, err := findings(strings.NewReader(`{"config":{}}`)); err == nil {
		t.Error("no entries pass for a clean answer")
	}
}
