package sheet

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"

	"ledgerwheel/domain/money"
	"ledgerwheel/domain/shop"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// factTerms makes an entry's facts readable: one line for each, keys in words, amounts in money, times in the
// shop's zone. Facts that are no JSON object are shown as they stand, since the journal must never be
// unreadable.
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
		return []view.TermView{view.Term("Written", r.words("", tree))}
	}
	r.terms("", object)
	return r.out
}

type factReader struct {
	shop     shop.Shop
	currency string // of the amounts beside it
	out      []view.TermView
}

// terms adds a line for each fact of an object; over names what it belongs to.
func (r *factReader) terms(over string, object map[string]any) {
	if code, ok := object["currency"].(string); ok && code != "" {
		r.currency = code
	}
	for _, key := range slices.Sorted(maps.Keys(object)) {
		label := factLabel(key)
		if over != "" {
			label = over + ": " + strings.ToLower(label)
		}
		if inner, ok := object[key].(map[string]any); ok && len(inner) > 0 {
			r.terms(label, inner)
			continue
		}
		r.out = append(r.out, TypedTerm(label, r.words(key, object[key])))
	}
}

// words is one value in words. Lists of objects give a line for each object.
func (r *factReader) words(key string, value any) string {
	switch v := value.(type) {
	case nil:
		return "none"
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case string:
		return r.text(v)
	case json.Number:
		return r.figure(key, v)
	case []any:
		return r.list(key, v)
	case map[string]any:
		var parts []string
		for _, k := range slices.Sorted(maps.Keys(v)) {
			parts = append(parts, strings.ToLower(factLabel(k))+" "+r.words(k, v[k]))
		}
		return strings.Join(parts, "; ")
	}
	return fmt.Sprint(value)
}

func (r *factReader) list(key string, values []any) string {
	if len(values) == 0 {
		return "none"
	}
	separator := ", "
	parts := make([]string, len(values))
	for i, v := range values {
		if _, ok := v.(map[string]any); ok {
			separator = "\n"
		}
		parts[i] = r.words(key, v)
		if strings.Contains(parts[i], ": ") { // a line of its own for each label and figure
			separator = "\n"
		}
	}
	return strings.Join(parts, separator)
}

func (r *factReader) text(s string) string {
	if s == "" {
		return "none"
	}
	if t, err := time.Parse(time.RFC3339Nano, s); err == nil {
		if t.Year() <= 1 {
			return "none"
		}
		return t.In(r.shop.Location()).Format(page.MomentLayout)
	}
	return s
}

func (r *factReader) figure(key string, n json.Number) string {
	if minor, err := n.Int64(); err == nil && isAmount(key) {
		return money.Format(minor, r.currency, r.shop.Locale)
	}
	return n.String()
}

func isAmount(key string) bool {
	return strings.HasSuffix(key, "_minor") || strings.HasSuffix(key, "Minor") || key == "minor"
}

// factLabel turns a key such as "place_detail" or "placeDetail" into words, without the unit of an amount,
// which its value shows.
func factLabel(key string) string {
	if isAmount(key) && key != "minor" {
		key = strings.TrimSuffix(strings.TrimSuffix(key, "_minor"), "Minor")
	}
	var b strings.Builder
	before := ' '
	for _, c := range key {
		switch {
		case c == '_' || c == '-':
			c = ' '
		case unicode.IsUpper(c) && unicode.IsLower(before):
			b.WriteByte(' ')
			c = unicode.ToLower(c)
		}
		b.WriteRune(c)
		before = c
	}
	if key == "minor" {
		return "Amount"
	}
	return nameInWords(b.String())
}
