// Pictures takes screenshots of a running demo, for the README and for looking at pages while building them.
//
//	go run ./e2e/pictures -at http://127.0.0.1:8080 -to pictures -as owner / /dockets
//
// Each page is taken at each of the widths and in each of the themes asked for.
package main

import (
	"context"
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"strings"

	"ledgerwheel/cmd/ledgerwheel/demoshop"
	"ledgerwheel/e2e/browser"
)

type looks struct {
	at, to, as     string
	widths, themes []string
	whole          bool
}

func main() {
	log.SetFlags(0)
	var l looks
	flag.StringVar(&l.at, "at", "http://127.0.0.1:8080", "address of the running demo")
	flag.StringVar(&l.to, "to", "pictures", "folder to write to")
	flag.StringVar(&l.as, "as", "owner", "who looks: owner, watchmaker, counter clerk; anything else is a stranger")
	widths := flag.String("widths", "phone,tablet,desktop", "which widths")
	themes := flag.String("themes", "light,dark", "which themes")
	flag.BoolVar(&l.whole, "whole", true, "the whole page, not only what fits the window")
	flag.Parse()
	l.widths, l.themes = strings.Split(*widths, ","), strings.Split(*themes, ",")
	if err := l.take(flag.Args()); err != nil {
		log.Fatal(err)
	}
}

func (l looks) take(paths []string) error {
	if err := os.MkdirAll(l.to, 0o755); err != nil {
		return err
	}
	ctx, stop, err := browser.Start(context.Background())
	if err != nil {
		return err
	}
	defer stop()
	tab, closeTab, err := browser.NewTab(ctx, l.at)
	if err != nil {
		return err
	}
	defer closeTab()
	for _, p := range demoshop.SignIns() {
		if p.Role == l.as {
			if err := tab.SignIn(p.Email, p.Password); err != nil {
				return err
			}
		}
	}
	for _, path := range paths {
		if err := l.page(tab, path); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
	}
	return nil
}

func (l looks) page(tab *browser.Tab, path string) error {
	for _, theme := range l.themes {
		for _, width := range l.widths {
			if err := tab.Look(browser.Widths[width], theme); err != nil {
				return err
			}
			if err := tab.Open(path); err != nil {
				return err
			}
			if err := tab.Picture(filepath.Join(l.to, fileName(path)+"-"+width+"-"+theme+".png"), l.whole); err != nil {
				return err
			}
		}
	}
	return nil
}

func fileName(path string) string {
	name := strings.Trim(strings.NewReplacer("/", "-", "?", "-", "=", "-", "&", "-").Replace(path), "-")
	if name == "" {
		return "today"
	}
	return name
}
