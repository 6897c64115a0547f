package page

import (
	"fmt"
	"strings"

	"ledgerwheel/web/paper"
	"ledgerwheel/web/view"
)

// Lacking says which characters of a paper's texts its PDF can't show; nil when it shows all. The page itself is
// printed with the types of the machine, which know more scripts.
func Lacking(texts []string) *view.NoticeView {
	missing := paper.Missing(strings.Join(texts, "\n"))
	if len(missing) == 0 {
		return nil
	}
	const most = 12 // named; a long text of one script would fill the page
	named := missing[:min(most, len(missing))]
	list := strings.Join(strings.Split(string(named), ""), " ")
	if more := len(missing) - len(named); more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return &view.NoticeView{Kind: view.Info, TestID: "paper-missing",
		Text: fmt.Sprintf("The PDF can't show these characters: %s (they print as %c). Print this page instead.",
			list, paper.Replacement)}
}
