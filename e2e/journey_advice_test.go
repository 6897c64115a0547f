package e2e

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"ledgerwheel/domain/staff"
)

// adviceKinds are the kinds of advice that the demo shop's watches give occasion to, with words that the page says of
// each. A suspicion must be said to be one.
var adviceKinds = []struct {
	kind      string
	words     []string
	suspicion bool
}{
	{"out-of-poise", []string{"heavy"}, true},
	{"rate-and-amplitude", []string{"arcs"}, false},
	{"power", []string{"amplitude"}, true},
	{"out-of-beat", []string{"beat"}, false},
	{"magnetised", []string{"magnet"}, true},
	{"knocking", []string{"banking"}, true},
	{"regulate", []string{"s/d"}, false},
}

var adviceShown = regexp.MustCompile(`data-testid="advice-([a-z-]+)" aria-labelledby`)

// TestAdvice opens the advice of the demo shop's dockets: each kind of advice is shown by one of them. It looks twice
// at a docket, so it does not run beside the journeys, which take further runs on the same dockets in between.
func TestAdvice(t *testing.T) {
	bench := signedIn(t, site(t), staff.Watchmaker)
	shown := map[string]string{}
	client := bench.client()
	for _, number := range demoDockets(t, client, bench.address) {
		res, body := fetch(t, client, bench.address+"/dockets/"+number+"/advice")
		if res.StatusCode != http.StatusOK {
			t.Errorf("the advice of %s answers %s", number, res.Status)
		}
		for _, found := range adviceShown.FindAllStringSubmatch(string(body), -1) {
			if shown[found[1]] == "" {
				shown[found[1]] = number
			}
		}
	}
	for _, k := range adviceKinds {
		number := shown[k.kind]
		if number == "" {
			t.Errorf("no docket of the demo shop shows advice on %s", k.kind)
			continue
		}
		t.Logf("%s: docket %s", k.kind, number)
		looksAtAdvice(bench, number, k.kind, k.words, k.suspicion)
	}
}

// demoDockets lists every docket, page by page.
func demoDockets(t *testing.T, c *http.Client, base string) []string {
	t.Helper()
	var numbers []string
	seen := map[string]bool{}
	for path := "/dockets?show=all"; path != ""; {
		res, body := fetch(t, c, base+path)
		if res.StatusCode != http.StatusOK {
			t.Fatalf("%s answers %s", path, res.Status)
		}
		at, err := url.Parse(path)
		if err != nil {
			t.Fatal(err)
		}
		path = ""
		for _, to := range links(t, at, string(body)) {
			if n := docketNumber.FindString(to); n != "" && !seen[n] {
				seen[n] = true
				numbers = append(numbers, n)
			}
			if strings.Contains(to, "before=") {
				path = to
			}
		}
	}
	return numbers
}

// looksAtAdvice opens a docket's advice by its tab and reads it as a watchmaker would.
func looksAtAdvice(p *person, number, kind string, words []string, suspicion bool) {
	p.t.Helper()
	p.sheet(number, "regulation")
	p.press("within-advice")
	p.arrives("/dockets/" + number + "/advice")
	p.within("advice-cautions").sees("let down", "Local rules")
	p.unfoldAll()
	item := p.within("advice-" + kind)
	if !p.has(byTest("advice-" + kind)) {
		p.fatalf("%s is not advised for %s, which had it when the dockets were listed", kind, number)
	}
	item.sees(words...)
	if suspicion != p.has(byTest("advice-"+kind)+` [data-testid="suspicion"]`) {
		p.errorf("%s of %s: said to be a suspicion: %v, want %v", kind, number, !suspicion, suspicion)
	}
	if p.count("svg.chart") == 0 || p.count("svg.chart > desc") != p.count("svg.chart") {
		p.errorf("%s: %d drawings, %d of them described", number, p.count("svg.chart"), p.count("svg.chart > desc"))
	}
}
