package message

import (
	"fmt"
	"html/template"
	"strings"
)

// letter is a mail's HTML form. Everything in it goes through html/template, whoever typed it; values stand isolated, so
// that a name in Arabic does not turn what stands beside it (HTML, section 4.5.27, the bdi element). It holds no picture and
// asks nobody for anything.
var letter = template.Must(template.New("letter").Parse(`<!DOCTYPE html>
<html lang="{{.Lang}}">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width"></head>
<body style="margin:0;padding:24px;background:#F7F3EA;color:#211C16;font-family:Georgia,serif;font-size:17px;line-height:1.5">
<div style="max-width:612px;margin:0 auto;overflow-wrap:anywhere">
{{range .Paragraphs}}<p dir="auto" style="margin:0 0 1em">{{range $i, $line := .}}{{if $i}}<br>
{{end}}{{range $line}}{{if .Href}}<a href="{{.Href}}" style="color:#24456B">{{.Text}}</a>{{else if .Value}}<bdi>{{range $j, $row := .Rows}}{{if $j}}<br>
{{end}}{{$row}}{{end}}</bdi>{{else}}{{.Text}}{{end}}{{end}}{{end}}</p>
{{end}}</div>
</body>
</html>
`))

// stretch is a piece of a line as the letter shows it.
type stretch struct {
	Text  string
	Href  string
	Value bool
}

// Rows are a value's lines.
func (s stretch) Rows() []string { return strings.Split(s.Text, "\n") }

// markup writes filled lines as HTML, a paragraph for each stretch of lines between blank ones.
func markup(tongue string, lines [][]piece) (string, error) {
	var paragraphs [][][]stretch
	fresh := true
	for _, line := range lines {
		if len(line) == 0 {
			fresh = true
			continue
		}
		var shown []stretch
		for _, p := range line {
			s := stretch{Text: p.words, Value: p.put != ""}
			if p.put == PutLink {
				s.Href = p.words
			}
			shown = append(shown, s)
		}
		if fresh {
			paragraphs = append(paragraphs, nil)
		}
		last := &paragraphs[len(paragraphs)-1]
		*last, fresh = append(*last, shown), false
	}
	var out strings.Builder
	err := letter.Execute(&out, struct {
		Lang       string
		Paragraphs [][][]stretch
	}{tongue, paragraphs})
	if err != nil {
		return "", fmt.Errorf("letter: %w", err)
	}
	return out.String(), nil
}
