// Lighthouse scores the six main pages of a running demo shop with Google's Lighthouse, in Chromium.
//
//	npm install --prefix /tmp/lh lighthouse
//	go run ./e2e/lighthouse -with /tmp/lh/node_modules/.bin/lighthouse -at http://127.0.0.1:8080
//
// It prints a table for DEVELOPERS.md, and what each score lost points on. The exit code is 1 if a score is below 98.
// Speed is measured under Lighthouse's own slowed-down network and processor, so other work on the machine spoils it.
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"log"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"ledgerwheel/cmd/ledgerwheel/demoshop"
	"ledgerwheel/e2e/browser"
)

// least is the score, of 100, that each page should have.
const least = 98

var categories = []string{"accessibility", "best-practices", "performance"}

// scorer runs Lighthouse against one demo.
type scorer struct {
	at, with, keep string
	cookie         string // the owner's session
}

func main() {
	log.SetFlags(0)
	var s scorer
	flag.StringVar(&s.at, "at", "http://127.0.0.1:8080", "address of the running demo")
	flag.StringVar(&s.with, "with", "lighthouse", "the program lighthouse")
	flag.StringVar(&s.keep, "keep", "", "folder to keep the reports in")
	only := flag.String("only", "", "only pages whose name has this in it")
	flag.Parse()
	below, err := s.all(context.Background(), *only)
	if err != nil {
		log.Fatal(err)
	}
	if below > 0 {
		log.Fatalf("%d scores are below %d", below, least)
	}
}

func (s *scorer) all(ctx context.Context, only string) (below int, err error) {
	chromium, err := browser.Find()
	if err != nil {
		return 0, err
	}
	if err := os.Setenv("CHROME_PATH", chromium); err != nil {
		return 0, err
	}
	if s.keep == "" {
		if s.keep, err = os.MkdirTemp("", "lw-lighthouse-"); err != nil {
			return 0, err
		}
		defer os.RemoveAll(s.keep)
	}
	if err := os.MkdirAll(s.keep, 0o755); err != nil {
		return 0, err
	}
	pages, err := s.pages(ctx)
	if err != nil {
		return 0, err
	}
	for i, device := range []string{"desktop", "phone"} {
		for _, p := range pages {
			if !strings.Contains(p.name, only) {
				continue
			}
			r, err := s.score(ctx, p, device)
			if err != nil {
				return 0, err
			}
			if i == 0 && p.name == pages[0].name {
				fmt.Printf("Lighthouse %s, Chromium %s\n\n| page | device | accessibility | best practices | performance |\n"+
					"|---|---|---|---|---|\n", r.Version, r.Environment.HostUserAgent)
			}
			below += r.print(p.name, device)
		}
	}
	return below, nil
}

// page is one of the main pages.
type page struct{ name, path string }

// pages signs the owner in, keeps the session's cookie and finds the customer's private page.
func (s *scorer) pages(ctx context.Context) ([]page, error) {
	ctx, stop, err := browser.Start(ctx)
	if err != nil {
		return nil, err
	}
	defer stop()
	tab, closeTab, err := browser.NewTab(ctx, s.at)
	if err != nil {
		return nil, err
	}
	defer closeTab()
	owner := demoshop.SignIns()[slices.IndexFunc(demoshop.SignIns(), func(p demoshop.SignIn) bool { return p.Role == "owner" })]
	if err := tab.SignIn(owner.Email, owner.Password); err != nil {
		return nil, err
	}
	cookies, err := tab.Cookies()
	if err != nil {
		return nil, err
	}
	for _, c := range cookies {
		s.cookie += c.Name + "=" + c.Value + "; "
	}
	if err := tab.Open("/dockets/26-00019-4/estimate"); err != nil {
		return nil, err
	}
	link, err := tab.Text(`[data-testid="private-link"]`)
	if err != nil {
		return nil, err
	}
	private := strings.TrimPrefix(link, s.at)
	if !strings.HasPrefix(private, "/c/") {
		return nil, fmt.Errorf("the demo's docket has no private page: %q", link)
	}
	return []page{{"Today", "/"}, {"docket", "/dockets/26-00019-4"}, {"regulation", "/dockets/26-00019-4/regulation"},
		{"intake", "/intake"}, {"dockets", "/dockets"}, {"customer's page", private}}, nil
}

// report is what is read of Lighthouse's report.
type report struct {
	Version     string `json:"lighthouseVersion"`
	FinalURL    string `json:"finalDisplayedUrl"`
	Environment struct {
		HostUserAgent string `json:"hostUserAgent"`
	} `json:"environment"`
	Categories map[string]struct {
		Score float64 `json:"score"` // of 1
		Refs  []struct {
			ID     string  `json:"id"`
			Weight float64 `json:"weight"`
		} `json:"auditRefs"`
	} `json:"categories"`
	Audits map[string]struct {
		Title string   `json:"title"`
		Score *float64 `json:"score"` // of 1; none where it does not apply
		Shown string   `json:"displayValue"`
	} `json:"audits"`
}

// score runs Lighthouse on one page.
func (s *scorer) score(ctx context.Context, p page, device string) (report, error) {
	file := filepath.Join(s.keep, strings.NewReplacer(" ", "-", "'", "").Replace(p.name)+"-"+device+".json")
	headers, err := json.Marshal(map[string]string{"Cookie": strings.TrimSuffix(s.cookie, "; ")})
	if err != nil {
		return report{}, err
	}
	args := []string{s.at + p.path, "--quiet", "--output=json", "--output-path=" + file,
		"--chrome-flags=--headless=new --no-sandbox", "--only-categories=" + strings.Join(categories, ",")}
	if device == "desktop" {
		args = append(args, "--preset=desktop")
	}
	if !strings.HasPrefix(p.path, "/c/") { // the customer is a stranger
		args = append(args, "--extra-headers="+string(headers))
	}
	if out, err := exec.CommandContext(ctx, s.with, args...).CombinedOutput(); err != nil {
		return report{}, fmt.Errorf("lighthouse of %s: %w\n%s", p.path, err, out)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return report{}, err
	}
	var r report
	if err := json.Unmarshal(text, &r); err != nil {
		return report{}, fmt.Errorf("%s: %w", file, err)
	}
	if !strings.HasSuffix(r.FinalURL, p.path) {
		return r, fmt.Errorf("%s led to %s", p.path, r.FinalURL)
	}
	return r, nil
}

// print writes a page's row and, below it, what cost points. It returns how many scores are too low.
func (r report) print(name, device string) (below int) {
	row, lost := []string{name, device}, ""
	for _, c := range categories {
		score := int(math.Round(r.Categories[c].Score * 100))
		row = append(row, fmt.Sprint(score))
		if score < least {
			below++
		}
		for _, ref := range r.Categories[c].Refs {
			if a := r.Audits[ref.ID]; ref.Weight > 0 && a.Score != nil && *a.Score < 0.9 {
				lost += fmt.Sprintf("    %s: %s %s\n", c, a.Title, a.Shown)
			}
		}
	}
	fmt.Printf("| %s |\n%s", strings.Join(row, " | "), lost)
	return below
}
