package e2e

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"ledgerwheel/domain/staff"
)

// TestAStocktakeWithoutTheMouse counts two drawers as a scanner and a number pad do: label, Enter, pieces, Enter, with the
// keyboard where the page put it. A difference is booked with its reason, and the ledger of the part tells it.
func TestAStocktakeWithoutTheMouse(t *testing.T) {
	t.Parallel()
	p := signedIn(t, otherSite(t), staff.Watchmaker)
	labels := map[string]string{}
	for number, pieces := range map[string]string{"TAKE-1": "5", "TAKE-2": "2"} {
		p.open("/stock/new")
		form := p.within("part-form")
		form.fillAll("number", number, "name", "Casing screw "+number, "drawer", "Z 7")
		form.press("save-part")
		labels[number] = "BIN" + p.path()[strings.LastIndex(p.path(), "/")+1:]
		p.unfold(byTest("fold-receive"))
		form = p.within("receive-form")
		form.fill("pieces", pieces)
		form.press("receive")
	}
	types := func(text string) { p.try(p.tab.Keys(text + kb.Enter)) }
	has := func(what string) {
		p.until(`document.activeElement?.name?.startsWith("` + what + `")`)
	}

	p.open("/stock/stocktake")
	p.press("begin-stocktake")
	has("label")
	types(labels["TAKE-1"])
	has("counted")
	p.within("drawer").sees("TAKE-1")
	p.within("drawer").seesNot("5") // what the book has would be counted to
	types("4")
	has("label")
	p.within("differ").sees("TAKE-1", "4 counted, the book had 5")
	types(labels["TAKE-2"])
	has("counted")
	types(labels["TAKE-1"]) // the scanner was faster than the hand
	p.until(`document.querySelector('` + byTest("form-errors") + `') !== null`)
	p.refused("counted.0", "label")
	p.fill("counted.0", "2")
	p.press("count-drawer")
	has("label")
	p.within("differ").seesNot("TAKE-2")

	part := strings.TrimPrefix(labels["TAKE-1"], "BIN")
	form := p.within("explain-" + part)
	form.fill("why", "One lay on the floor and was bent.")
	form.press("book-" + part)
	p.press("end-stocktake")
	p.open("/stock/" + part)
	p.within("ledger").sees("One lay on the floor and was bent.", "−1")
}
