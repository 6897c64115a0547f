package e2e

import (
	"fmt"
	"maps"
	"mime"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"golang.org/x/net/html"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// A crawl follows links from the first page; these bound it. A page's kind is its path without numbers and ids.
const (
	crawlMost  = 2400 // pages fetched for one person
	ofOneKind  = 40   // pages fetched of one kind
	lookedMost = 330  // pages looked at for one person; each page of the owner adds to it, and figures have nineteen
)

var numbers = regexp.MustCompile(`\b((?:V|\d{2})-\d{5,7}-[0-9A-Z]|\d+)\b|(/rate-limits/)[a-z-]+`)

var benchTool = regexp.MustCompile(`^(/dockets/\{\})?/bench/`)

// kindOf is a path with its numbers and secrets taken out: pages of one kind are made by one view.
func kindOf(u *url.URL) string {
	path := numbers.ReplaceAllString(u.Path, "$2{}")
	for _, secret := range []string{"/c/", "/join/", "/w/"} {
		if rest, ok := strings.CutPrefix(path, secret); ok {
			_, after, _ := strings.Cut(rest, "/")
			path = strings.TrimSuffix(secret+"{}/"+after, "/")
		}
	}
	if every := benchTool.FindString(path); every != "" {
		return every // one view draws every tool
	}
	if slug, behind, ok := strings.Cut(strings.TrimPrefix(path, "/figures/"), "/"); strings.HasPrefix(path, "/figures/") {
		if ok { // one view lists the dockets behind any figure
			return "/figures/{}/" + behind
		}
		return "/figures/" + slug // whatever span and people it is asked of
	}
	if len(u.Query()) > 0 {
		path += "?" + strings.Join(slices.Sorted(maps.Keys(u.Query())), "&")
	}
	return path
}

// fetched is a page that was reached.
type fetched struct {
	path  string
	bytes int
	main  string // what stands between the frame that every page of a person has
}

var mainPart = regexp.MustCompile(`(?s)<main.*</main>`)

// crawl fetches what a person reaches by links, and returns the addresses of HTML pages by kind.
func crawl(t *testing.T, c *http.Client, base string, from ...string) map[string][]fetched {
	t.Helper()
	pages, count, seen := map[string][]fetched{}, map[string]int{}, map[string]bool{}
	queue := map[string][]string{} // by kind, so that the kinds met seldom come first
	add := func(paths ...string) {
		for _, path := range paths {
			u, err := url.Parse(path)
			if err == nil && !seen[path] && count[kindOf(u)]+len(queue[kindOf(u)]) < ofOneKind {
				seen[path] = true
				queue[kindOf(u)] = append(queue[kindOf(u)], path)
			}
		}
	}
	add(from...)
	for n := 0; len(queue) > 0 && n < crawlMost; n++ {
		kind := slices.MinFunc(slices.Sorted(maps.Keys(queue)), func(a, b string) int { return count[a] - count[b] })
		path := queue[kind][0]
		if queue[kind] = queue[kind][1:]; len(queue[kind]) == 0 {
			delete(queue, kind)
		}
		count[kind]++
		u, err := url.Parse(path)
		if err != nil {
			t.Fatal(err)
		}
		res, body := fetch(t, c, base+path)
		switch content, _, _ := mime.ParseMediaType(res.Header.Get("Content-Type")); {
		case res.StatusCode == http.StatusSeeOther:
			add(local(u, res.Header.Get("Location"))...)
		case res.StatusCode != http.StatusOK:
			t.Errorf("%s, reached by a link, answers %s: %.300s", path, res.Status, body)
		case content == "text/html":
			pages[kind] = append(pages[kind], fetched{path, len(body), mainPart.FindString(string(body))})
			add(links(t, u, string(body))...)
		}
	}
	return pages
}

// links are the addresses within the program to which a page leads, in its order.
func links(t *testing.T, at *url.URL, page string) []string {
	t.Helper()
	root, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatalf("%s: %v", at, err)
	}
	var list []string
	for n := range root.Descendants() {
		for _, a := range n.Attr {
			if n.Data == "a" && a.Key == "href" || n.Data == "img" && a.Key == "src" {
				list = append(list, local(at, a.Val)...)
			}
		}
	}
	return list
}

// local resolves a link; one that leads out of the program, or only within the page, is left out.
func local(at *url.URL, href string) []string {
	u, err := url.Parse(href)
	if err != nil || u.Scheme != "" || u.Host != "" || strings.HasPrefix(href, "#") {
		return nil
	}
	to := at.ResolveReference(u)
	if strings.HasPrefix(to.Path, "/static/") {
		return nil
	}
	return []string{to.RequestURI()}
}

// chosen takes at most n of a kind's pages: the longest, which has most on it, the shortest, and others between.
func chosen(pages []fetched, n int) []fetched {
	slices.SortStableFunc(pages, func(a, b fetched) int { return b.bytes - a.bytes })
	var list []fetched
	for i := range min(n, len(pages)) {
		list = append(list, pages[i*(len(pages)-1)/max(1, min(n, len(pages))-1)])
	}
	return list
}

var axeSource = sync.OnceValues(func() (string, error) {
	js, err := os.ReadFile(filepath.Join("testdata", "axe", "axe.min.js"))
	return string(js), err
})

// axeFinding is one rule of axe-core that a page breaks.
type axeFinding struct {
	ID     string   `json:"id"`
	Help   string   `json:"help"`
	Places []string `json:"places"`
}

// runAxe asks for the rules of WCAG 2.2, levels A and AA, as Deque's axe-core reads them, and its best practices.
const runAxe = `axe.run(document, {preload: false, resultTypes: ["violations"], runOnly: %s})
	.then(r => r.violations.map(v => ({id: v.id, help: v.help, places: v.nodes.slice(0, 4).map(n => n.html.slice(0, 200) + " " + n.failureSummary)})))`

const (
	allRules    = `["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]`
	colourRules = `["color-contrast", "link-in-text-block"]`
)

// look is one way of looking at a page. Most rules are about what stands on the page and where, which the theme does
// not change; so they are asked once for each device.
type look struct{ device, theme, rules string }

func (l look) String() string { return l.device + " " + l.theme }

// looks change what has to be laid out anew as seldom as they can.
var looks = []look{{"desktop", "light", allRules}, {"desktop", "dark", colourRules}, {"phone", "dark", allRules},
	{"phone", "light", colourRules}}

// settled waits for type and lets no colour fade while it is looked at.
const settled = `document.fonts.ready.then(() => { document.getAnimations().forEach(a => a.effect.getComputedTiming().endTime === Infinity ? a.pause() : a.finish()); return true; })`

// accessible opens a page and looks it over.
func (p *person) accessible(path string) {
	p.t.Helper()
	p.tab.Faults()
	p.open(path)
	p.lookOver(path)
}

// looksTaken counts how often a page was looked at: pages × people × devices × themes.
var looksTaken atomic.Int64

// lookOver looks at the page in the window, in every way, and reports what is wrong with it under the name given.
func (p *person) lookOver(name string) {
	p.t.Helper()
	axe, err := axeSource()
	p.try(err)
	p.js(axe + "; true")
	faults := map[string][]string{} // the looks at which each is seen
	for _, l := range looks {
		if l.theme == "dark" && p.tab.InFirefox() {
			continue
		}
		p.try(p.tab.Look(browser.Widths[l.device], l.theme))
		p.js(settled)
		p.keepPicture(name, l)
		over, err := browser.Eval[int](p.tab, `document.documentElement.scrollWidth - innerWidth`)
		p.try(err)
		if over > 0 {
			fault := fmt.Sprintf("the page is %d px wider than the screen", over)
			faults[fault] = append(faults[fault], l.String())
		}
		found, err := browser.Eval[[]axeFinding](p.tab, fmt.Sprintf(runAxe, l.rules))
		p.try(err)
		for _, f := range found {
			fault := fmt.Sprintf("%s: %s\n\t%s", f.ID, f.Help, strings.Join(f.Places, "\n\t"))
			faults[fault] = append(faults[fault], l.String())
		}
		looksTaken.Add(1)
		if l.device == "phone" && l.rules == allRules {
			p.fitsAFinger(faults, l)
		}
	}
	p.fitsNarrow(faults)
	for fault, seenAt := range faults {
		p.t.Errorf("%s (%s): %s", name, strings.Join(seenAt, ", "), fault)
	}
	for _, fault := range p.complaints() {
		p.t.Errorf("%s: the browser complains: %s", name, fault)
	}
	p.try(p.tab.Look(browser.Widths["desktop"], "light"))
}

// refusal is how the browser reports a form that came back, which is as it should be.
var refusal = regexp.MustCompile(`status of (409|422) `)

// complaints are what the browser complained of, other than that the page itself has the status of a refusal.
func (p *person) complaints() []string {
	p.t.Helper()
	own, err := browser.Eval[string](p.tab,
		`performance.getEntriesByType("navigation")[0].responseStatus >= 400 ? location.href : ""`)
	p.try(err)
	return slices.DeleteFunc(p.tab.Faults(), func(fault string) bool {
		return strings.HasPrefix(fault, "network: ") && (refusal.MatchString(fault) || own != "" &&
			strings.HasSuffix(fault, " "+own))
	})
}

// keepPicture writes the page to the folder that LEDGERWHEEL_SHOTS names, if it does.
func (p *person) keepPicture(path string, l look) {
	p.t.Helper()
	dir := os.Getenv("LEDGERWHEEL_SHOTS")
	if dir == "" {
		return
	}
	p.try(os.MkdirAll(dir, 0o755))
	p.js(`Promise.all([...document.images].map(i => { i.loading = "eager"; return i.decode().catch(() => {}); })).then(() => true)`)
	name := strings.Trim(strings.NewReplacer("/", "-", "?", "-", "=", "-", "&", "-", "%", "-").Replace(path), "-")
	if name == "" {
		name = "today"
	}
	_, test, _ := strings.Cut(p.t.Name(), "/")
	p.try(p.tab.Picture(filepath.Join(dir, fmt.Sprintf("%s-%.60s-%s-%s.png", strings.ReplaceAll(test, " ", "-"), name,
		l.device, l.theme)), true))
}

// TestPages looks at every kind of page that each of the shop's people reaches by links from the first one, light and
// dark, on a telephone and at a desk: axe-core finds nothing, no page is wider than the screen, or than one of 320
// pixels, whatever a finger is asked to hit can be hit within 44 pixels, nothing is refused by the content security
// policy, and the browser has nothing to complain of. A page on which another finds to the letter what the owner does is
// looked at once; the frame about it is on the others.
func TestPages(t *testing.T) {
	t.Parallel()
	t.Cleanup(func() { t.Logf("%d looks: pages × people × devices × themes", looksTaken.Load()) })
	shop := otherSite(t)
	reached := func(p *person) map[string][]fetched {
		return crawl(p.t, p.client(), shop.address, "/", "/account", "/find", "/find?q=corrie", "/find?q="+url.QueryEscape("26-00001-7"))
	}
	owner := signedIn(t, shop, staff.Owner)
	ownerKinds, ofOwner := reached(owner), map[string]bool{}
	for _, pages := range ownerKinds {
		for _, page := range chosen(pages, 2) { // the owner sees every kind of page
			ofOwner[page.main] = page.main != ""
		}
	}
	lookAt := func(p *person, kinds map[string][]fetched, ofEach int, known map[string]bool) {
		n, same := 0, 0
		for _, kind := range slices.Sorted(maps.Keys(kinds)) {
			for _, page := range chosen(kinds[kind], ofEach) {
				if known[page.main] {
					same++
					continue
				}
				if n++; n > lookedMost {
					p.t.Fatalf("more than %d pages to look at: raise the bound or look at fewer of a kind", lookedMost)
				}
				p.accessible(page.path)
			}
		}
		p.t.Logf("%d kinds of page, %d pages looked at in %d ways, %d as the owner's", len(kinds), n, len(looks), same)
	}
	for _, role := range staff.Roles() {
		t.Run(role.Label(), func(t *testing.T) {
			t.Parallel()
			p := signedIn(t, shop, role)
			if role != staff.Owner {
				lookAt(p, reached(p), 1, ofOwner)
				return
			}
			lookAt(p, ownerKinds, 2, nil)
			publicPages(t, p, shop, ownerKinds)
		})
	}
}

var (
	privateLink = regexp.MustCompile(`data-testid="private-link">[^<]*(/c/[0-9a-z]+)<`)
	checkLink   = regexp.MustCompile(`href="(/w/[0-9A-Z]+)"`)
)

// publicPages looks at what people outside the shop see.
func publicPages(t *testing.T, p *person, shop *program, kinds map[string][]fetched) {
	s := stranger(t, shop)
	for _, path := range []string{"/sign-in", "/w", "/w/AAAABBBBCCCCDDDD", "/card", "/card/keys", "/card-check.html", "/c/nobody", "/join/nobody", "/no/such/page",
		foundIn(p, kinds["/dockets/{}/estimate"], privateLink), foundIn(p, kinds["/dockets/{}/card"], checkLink)} {
		s.accessible(path)
	}
}

// foundIn fetches pages until one holds what is looked for.
func foundIn(p *person, pages []fetched, what *regexp.Regexp) string {
	p.t.Helper()
	for _, page := range pages {
		_, body := p.get(page.path)
		if found := what.FindStringSubmatch(string(body)); found != nil {
			return found[1]
		}
	}
	p.t.Fatalf("none of %d pages holds %s", len(pages), what)
	return ""
}
