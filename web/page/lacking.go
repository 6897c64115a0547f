package page

import (
	"fmt"
	"strings"

	"ledgerwheel/web/paper"
	"ledgerwheel/web/paper/script"
	"ledgerwheel/web/view"
)

// PaperNotices say what a printer should know of a paper: that it runs on, and what won't print.
func PaperNotices(s paper.Sheets) []view.NoticeView {
	var notices []view.NoticeView
	if s.Overflows() {
		notices = append(notices, view.NoticeView{Kind: view.Info, TestID: "paper-long",
			Text: fmt.Sprintf("This paper is long: it takes %d pages.", s.Pages())})
	}
	if words := LackingWords(s.Lacking()); words != "" {
		notices = append(notices, view.NoticeView{Kind: view.Info, TestID: "paper-missing", Text: words + lackingWhere(s.LackingIn())})
	}
	return notices
}

// lackingWhere names the lines of a paper in which such characters stand.
func lackingWhere(lines []string) string {
	const most = 3 // named; a long text would fill the page
	var named []string
	for _, line := range lines[:min(most, len(lines))] {
		named = append(named, "“"+Shortened(line, 60)+"”")
	}
	where := " They stand in " + strings.Join(named, ", ")
	if more := len(lines) - len(named); more > 0 {
		where += fmt.Sprintf(" and %d more lines", more)
	}
	return where + "."
}

// LackingWords says which characters a PDF can't show; "" when it shows all. The page itself is printed with the types
// of the machine that prints, which may know more scripts.
func LackingWords(missing []rune) string {
	if len(missing) == 0 {
		return ""
	}
	const most = 12 // named; a long text of one script would fill the page
	named := missing[:min(most, len(missing))]
	list := strings.Join(strings.Split(string(named), ""), " ")
	if more := len(missing) - len(named); more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return fmt.Sprintf("The PDF can't show these characters: %s (they print as %c). Print this page instead.",
		list, script.Replacement)
}
