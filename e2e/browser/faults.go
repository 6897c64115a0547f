package browser

import (
	"slices"
	"strings"
	"sync"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// faults are what the browser complained of since they were last taken.
type faults struct {
	mu      sync.Mutex
	said    []string
	dialogs []string
}

func (f *faults) add(text string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.said = append(f.said, text)
}

// hear notes errors of scripts, what the content security policy refused, resources that did not load, and answers
// the question whether to leave a page with typing unsent: yes.
func (t *Tab) hear(event any) {
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		t.faults.add("exception: " + thrown(e.ExceptionDetails))
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			t.faults.add("console: " + consoleText(e.Args))
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError || e.Entry.Level == log.EntryLevelWarning {
			t.faults.add(string(e.Entry.Source) + ": " + strings.TrimSpace(e.Entry.Text+" "+e.Entry.URL))
		}
	case *page.EventJavascriptDialogOpening:
		t.faults.mu.Lock()
		t.faults.dialogs = append(t.faults.dialogs, string(e.Type))
		t.faults.mu.Unlock()
		go func() { // a listener must not call the browser itself
			_, err := chromedp.Call(t.ctx, page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: true})
			if err != nil && t.ctx.Err() == nil {
				t.faults.add("dialog: " + err.Error())
			}
		}()
	}
}

func thrown(d *runtime.ExceptionDetails) string {
	if d.Exception != nil && d.Exception.Description != "" {
		return d.Exception.Description
	}
	return d.Text
}

func consoleText(args []*runtime.RemoteObject) string {
	var words []string
	for _, a := range args {
		words = append(words, strings.Trim(string(a.Value), `"`)+a.Description)
	}
	return strings.Join(words, " ")
}

// Faults takes what the browser complained of since the last call: errors of scripts, refusals by the content
// security policy, resources that did not load.
func (t *Tab) Faults() []string {
	t.faults.mu.Lock()
	defer t.faults.mu.Unlock()
	said := t.faults.said
	t.faults.said = nil
	return said
}

// Dialogs lists the kinds of dialog that opened so far, such as "beforeunload".
func (t *Tab) Dialogs() []string {
	t.faults.mu.Lock()
	defer t.faults.mu.Unlock()
	return slices.Clone(t.faults.dialogs)
}
