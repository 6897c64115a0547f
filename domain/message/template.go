package message

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"ledgerwheel/domain/text"
)

// Template is the words of a topic in one language, with placeholders in curly brackets.
type Template struct {
	Subject string // one line
	Text    string // of a mail or a letter
	Short   string // of a text message, and for reading out on the telephone
}

// MaxShort is the longest short form of a template, in characters. A text message of more than 160 goes out in several
// parts (3GPP TS 23.040), which costs more and is still one message for who reads it.
const MaxShort = 480

// Values are what is put in the places of a template. A line that holds a placeholder without a value is left out.
type Values map[Placeholder]string

// piece is a stretch of a template: words, or a placeholder.
type piece struct {
	words string
	put   Placeholder
}

// pieces takes a template apart. The error is a sentence for whoever typed it.
func pieces(typed string, t Topic) ([]piece, error) {
	var list []piece
	for rest := typed; rest != ""; {
		words, after, opened := strings.Cut(rest, "{")
		if strings.Contains(words, "}") {
			return nil, fmt.Errorf("there is a } without its {: what is filled in stands between both, such as {customer}")
		}
		if words != "" {
			list = append(list, piece{words: words})
		}
		if !opened {
			break
		}
		name, next, closed := strings.Cut(after, "}")
		if !closed || strings.Contains(name, "{") || strings.Contains(name, "\n") {
			return nil, fmt.Errorf("there is a { without its }: what is filled in stands between both, such as {customer}")
		}
		p := Placeholder(strings.ToLower(text.Line(name)))
		if !slices.Contains(t.Placeholders(), p) {
			return nil, notPut(name, p, t)
		}
		list = append(list, piece{put: p})
		rest = next
	}
	return list, nil
}

// notPut says what is wrong with a placeholder, and which was meant.
func notPut(typed string, p Placeholder, t Topic) error {
	if p.Known() {
		return fmt.Errorf("{%s} is not known in this message: nothing says %s when it is “%s”", p, p.Words(), t.Words())
	}
	if near := t.meant(typed); near != "" {
		return fmt.Errorf("{%s} is no placeholder; {%s} is meant, %s", typed, near, near.Words())
	}
	return fmt.Errorf("{%s} is no placeholder: insert one of those listed", typed)
}

// Tidied returns t without stray spaces and control characters.
func (t Template) Tidied() Template {
	return Template{Subject: text.Line(t.Subject), Text: text.Lines(t.Text), Short: text.Lines(t.Short)}
}

// Problems says, by form field, what stops a Tidied template of the topic from being kept.
func (t Template) Problems(topic Topic) map[string]string {
	bad := map[string]string{}
	for _, part := range []struct {
		field, typed string
		longest      int
	}{{"subject", t.Subject, MaxSubject}, {"text", t.Text, MaxText}, {"short", t.Short, MaxShort}} {
		list, err := pieces(part.typed, topic)
		switch {
		case part.typed == "":
			bad[part.field] = "Give the words that the customer reads."
		case text.TooLong(part.typed, part.longest):
			bad[part.field] = fmt.Sprintf("Keep it to at most %d characters.", part.longest)
		case err != nil:
			bad[part.field] = text.Sentence(err.Error())
		case part.field != "subject":
			if lacks := lacking(list, topic.Needs()); lacks != "" {
				bad[part.field] = fmt.Sprintf("Insert %s too: without it the customer does not learn %s.", lacks.Written(), lacks.Words())
			}
		}
	}
	return bad
}

func lacking(list []piece, needs []Placeholder) Placeholder {
	for _, p := range needs {
		if !slices.ContainsFunc(list, func(x piece) bool { return x.put == p }) {
			return p
		}
	}
	return ""
}

// Uses reports whether any part of t holds p.
func (t Template) Uses(p Placeholder) bool {
	return strings.Contains(strings.ToLower(t.Subject+t.Text+t.Short), p.Written())
}

// Filled is a template with its values in place.
type Filled struct {
	Subject, Text, Short string
	HTML                 string // Text as a mail's second form
}

// Fill puts the values into their places. What stands in a value is never read as a placeholder or as markup. Own words
// that the template has no place for stand at its end. A template whose Problems are none can be filled.
func (t Template) Fill(topic Topic, tongue string, v Values) (Filled, error) {
	v = maps.Clone(v)
	if own := v[PutOwn]; own != "" && !strings.Contains(t.Text, PutOwn.Written()) {
		t.Text += "\n\n" + PutOwn.Written()
	}
	if own := v[PutOwn]; own != "" && !strings.Contains(t.Short, PutOwn.Written()) {
		t.Short += " " + PutOwn.Written()
	}
	subject, err := fill(t.Subject, topic, v)
	if err != nil {
		return Filled{}, fmt.Errorf("subject: %w", err)
	}
	lines, err := fill(t.Text, topic, v)
	if err != nil {
		return Filled{}, fmt.Errorf("text: %w", err)
	}
	short, err := fill(t.Short, topic, v)
	if err != nil {
		return Filled{}, fmt.Errorf("short form: %w", err)
	}
	out := Filled{Subject: cut(text.Line(plain(subject)), MaxSubject), Text: plain(lines), Short: plain(short)}
	out.HTML, err = markup(tongue, lines)
	return out, err
}

// cut keeps a subject that a long name made too long within its bounds.
func cut(s string, longest int) string {
	if runes := []rune(s); len(runes) > longest {
		return string(runes[:longest-1]) + "…"
	}
	return s
}

// fill takes a template's lines apart and puts the values in. Lines with an empty value are gone, and blank ones that would
// stand doubled with them; of what is one such line alone, only the value is.
func fill(template string, topic Topic, v Values) ([][]piece, error) {
	lines, err := fillLines(template, topic, v, true)
	if err == nil && len(lines) == 0 {
		lines, err = fillLines(template, topic, v, false)
	}
	return lines, err
}

func fillLines(template string, topic Topic, v Values, whole bool) ([][]piece, error) {
	var lines [][]piece
	for _, typed := range strings.Split(template, "\n") {
		list, err := pieces(typed, topic)
		if err != nil {
			return nil, err
		}
		if whole && slices.ContainsFunc(list, func(p piece) bool { return p.put != "" && v[p.put] == "" }) {
			continue
		}
		for i, p := range list {
			if p.put != "" {
				list[i].words = v[p.put]
			}
		}
		if len(list) == 0 && (len(lines) == 0 || len(lines[len(lines)-1]) == 0) {
			continue
		}
		lines = append(lines, list)
	}
	for len(lines) > 0 && len(lines[len(lines)-1]) == 0 {
		lines = lines[:len(lines)-1]
	}
	return lines, nil
}

// plain writes filled lines as plain text.
func plain(lines [][]piece) string {
	written := make([]string, len(lines))
	for i, line := range lines {
		for _, p := range line {
			written[i] += p.words
		}
	}
	return strings.Join(written, "\n")
}
