package sheet

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain/diagnosis"
	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/watch"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// factTerms makes an entry's facts readable: one line for each, in the words, unit and digits of docket.TermOf, amounts
// in money, times in the shop's zone. Facts that are no JSON object are shown as they stand, since the journal must
// never be unreadable.
func factTerms(facts []byte, sh shop.Shop) []view.TermView {
	if len(facts) == 0 {
		return nil
	}
	dec := json.NewDecoder(bytes.NewReader(facts))
	dec.UseNumber()
	var tree any
	if err := dec.Decode(&tree); err != nil {
		return []view.TermView{view.Term("As written", string(facts))}
	}
	r := factReader{shop: sh, currency: sh.Currency}
	object, ok := tree.(map[string]any)
	if !ok {
		return []view.TermView{view.Term("Written", r.words(docket.Term{}, tree))}
	}
	r.terms("", object)
	return r.out
}

type factReader struct {
	shop     shop.Shop
	currency string // of the amounts beside it
	out      []view.TermView
}

// fact is one fact of an object with how it is told.
type fact struct {
	term  docket.Term
	value any
}

// told lists the facts of an object that people read, in their order.
func told(object map[string]any) []fact {
	keys := slices.SortedFunc(maps.Keys(object), func(a, b string) int {
		return cmp.Or(cmp.Compare(docket.Order(a), docket.Order(b)), cmp.Compare(a, b))
	})
	var list []fact
	for _, key := range keys {
		term, known := docket.TermOf(key)
		if !known && isAmount(key) {
			term.Of, term.Words = docket.MinorUnits, strings.TrimSuffix(strings.TrimSuffix(term.Words, "Minor"), " minor")
		}
		if term.Of != docket.MachineOnly {
			list = append(list, fact{term, object[key]})
		}
	}
	return list
}

// terms adds a line for each fact of an object; over names what it belongs to.
func (r *factReader) terms(over string, object map[string]any) {
	if code, ok := object["currency"].(string); ok && code != "" {
		r.currency = code
	}
	for _, f := range told(object) {
		label := text.Capital(f.term.Words)
		if over != "" {
			label = over + ": " + f.term.Words
		}
		if inner, ok := f.value.(map[string]any); ok && len(inner) > 0 {
			r.terms(label, inner)
			continue
		}
		r.out = append(r.out, TypedTerm(label, r.words(f.term, f.value)))
	}
}

// words is one value in words. Lists of objects give a line for each object.
func (r *factReader) words(term docket.Term, value any) string {
	switch v := value.(type) {
	case nil:
		return "none"
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case string:
		return r.text(term, v)
	case json.Number:
		if minor, err := v.Int64(); err == nil && term.Of == docket.MinorUnits {
			return money.Format(minor, r.currency, r.shop.Locale)
		}
		return term.Number(v.String())
	case []any:
		return r.list(term, v)
	case map[string]any:
		return r.line(v)
	}
	return fmt.Sprint(value)
}

// line tells an object in one line: what it is about, then the rest.
func (r *factReader) line(object map[string]any) string {
	lead := ""
	var parts []string
	for _, f := range told(object) {
		words := r.words(f.term, f.value)
		switch {
		case f.term.Lead && lead == "":
			lead = words + ": "
		case f.term.Lead || f.term.Bare:
			parts = append(parts, words)
		default:
			parts = append(parts, f.term.Words+" "+words)
		}
	}
	return lead + strings.Join(parts, ", ")
}

func (r *factReader) list(term docket.Term, values []any) string {
	if len(values) == 0 {
		return "none"
	}
	separator := ", "
	parts := make([]string, len(values))
	for i, v := range values {
		if _, ok := v.(map[string]any); ok {
			separator = "\n"
		}
		parts[i] = r.words(term, v)
		if strings.Contains(parts[i], ": ") || strings.Contains(parts[i], ", ") || strings.HasSuffix(parts[i], ".") {
			separator = "\n" // a line of its own for each label and figure, and for each sentence
		}
	}
	return strings.Join(parts, separator)
}

func (r *factReader) text(term docket.Term, s string) string {
	if s == "" {
		return "none"
	}
	if t, err := time.Parse(time.RFC3339Nano, s); err == nil {
		if t.Year() <= 1 {
			return "none"
		}
		return t.In(r.shop.Location()).Format(page.MomentLayout)
	}
	if day, err := time.Parse(time.DateOnly, s); err == nil {
		return docket.DayWords(day)
	}
	switch term.Of {
	case docket.FigureWords:
		return text.TrueMinus(s)
	case docket.StageSlug:
		if stage := docket.Stage(s); stage.Known() {
			return stage.Label()
		}
		return text.TrueMinus(s)
	case docket.HazardSlug:
		return diagnosis.Hazard(s).Words()
	case docket.CalibreField:
		return watch.CalibreDifference{Field: s}.Label()
	}
	if _, err := strconv.ParseFloat(s, 64); err == nil && term.Unit != "" {
		return term.Number(s)
	}
	return s
}

// isAmount reports whether a key without a term names an amount.
func isAmount(key string) bool {
	return strings.HasSuffix(key, "_minor") || strings.HasSuffix(key, "Minor")
}
