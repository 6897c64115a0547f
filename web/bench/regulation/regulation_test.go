package regulation_test

import (
	"golang.org/x/net/html"

	"ledgerwheel/web/webtest"
)

// Rates as a watchmaker would type them, in the order of the grid: CH, FH, 3H, 6H, 9H, 12H.
var ()

// cellsOf are the texts of the cells of a row, and of its heading.
func cellsOf(n *html.Node) []string {
	var cells []string
	for c := range n.Descendants() {
		if c.Type == html.ElementNode && (c.Data == "td" || c.Data == "th") {
			cells = append(cells, webtest.TextOf(c))
		}
	}
	return cells
}
