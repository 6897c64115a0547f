package page

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"ledgerwheel/domain"
	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/money"
	"ledgerwheel/domain/staff"
	"ledgerwheel/web/view"
)

// maxFormBytes bounds a form without files; the longest honest one is a full grid with notes.
const maxFormBytes = 256 << 10

// Form is what was posted, kept as typed, and what is wrong with it by field name.
type Form struct {
	Values   url.Values
	Problems map[string]string
	Asked    map[string]view.Question // beside fields, by their names
}

// ReadForm reads a posted form without files. The error maps to 400 or 413.
func ReadForm(w http.ResponseWriter, r *http.Request) (*Form, error) {
	r.Body = http.MaxBytesReader(w, r.Body, maxFormBytes)
	if err := r.ParseForm(); err != nil {
		return nil, BadRequest(err)
	}
	if err := Sent(r, r.PostForm); err != nil {
		return nil, err
	}
	return &Form{Values: r.PostForm, Problems: map[string]string{}}, nil
}

// Text returns the field without surrounding white space and without control characters
// other than line ends, which have no business in a record.
func (f *Form) Text(name string) string {
	return CleanText(f.Values.Get(name))
}

// Raw returns the field exactly as typed, for showing it again and for passwords.
func (f *Form) Raw(name string) string { return f.Values.Get(name) }

// Int reads a whole number; blank gives zero. Anything else is a problem of the field.
func (f *Form) Int(name string) int {
	text := f.Text(name)
	if text == "" {
		return 0
	}
	n, err := figure.ParseWhole(text)
	if err != nil {
		f.Fail(name, figure.Sentence(err, "Give a whole number."))
		return 0
	}
	return n
}

// ID reads the id of a record, or zero when the field is blank.
func (f *Form) ID(name string) int64 {
	text := f.Text(name)
	if text == "" {
		return 0
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 0 {
		f.Fail(name, "Choose one of those offered.")
		return 0
	}
	return n
}

// Checked reports whether a box was ticked.
func (f *Form) Checked(name string) bool { return f.Values.Get(name) != "" }

// Fail notes the first problem of a field; later ones on the same field are left out,
// since a reader mends one thing at a time.
func (f *Form) Fail(name, why string) {
	if _, taken := f.Problems[name]; !taken {
		f.Problems[name] = why
	}
}

// FailAll notes every problem that a domain value reports.
func (f *Form) FailAll(problems map[string]string) {
	for name, why := range problems {
		f.Fail(name, why)
	}
}

// OK reports whether nothing is wrong so far.
func (f *Form) OK() bool { return len(f.Problems) == 0 }

func CleanText(s string) string {
	s = strings.ReplaceAll(s, "\r\n", "\n")
	s = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' || r == 0x7f || r == '\uFFFD' {
			return -1
		}
		return r
	}, s)
	return strings.TrimSpace(s)
}

// View is the form as fields show it again.
func (f *Form) View() view.Form {
	return view.Form{Values: f.Values, Problems: f.Problems, Asked: f.Asked}
}

// Ask puts a question beside a field whose figure looks like a slip of the hand. It holds the form back until its writer
// ticks that it is so; the tick counts only for what the field says now.
func (f *Form) Ask(name, question string) { f.AskOf(name, question, f.Text(name)) }

// AskOf is Ask of a figure that stands in no field as it is.
func (f *Form) AskOf(name, question, of string) {
	if f.Problems[name] != "" {
		return // one thing at a time
	}
	q := view.Question{Text: question, Of: of, Sure: of != "" && f.Text(view.SureName(name)) == of}
	if f.Asked == nil {
		f.Asked = map[string]view.Question{}
	}
	f.Asked[name] = q
	if !q.Sure {
		f.Fail(name, question)
	}
}

// Confirmed are the questions that were answered with a tick, by field.
func (f *Form) Confirmed() map[string]string {
	sure := map[string]string{}
	for name, q := range f.Asked {
		if q.Sure {
			sure[name] = q.Text
		}
	}
	return sure
}

func EmptyForm() *Form { return &Form{Values: url.Values{}, Problems: map[string]string{}} }

// Takes notes what a refusal by the record says of the fields, and reports whether it was one.
func (f *Form) Takes(err error) bool {
	var invalid *domain.InvalidError
	if !errors.As(err, &invalid) {
		return false
	}
	f.FailAll(invalid.Problems)
	return true
}

// NewPassword checks the two fields in which m, of the shop of this name, chooses a password.
func (f *Form) NewPassword(m staff.Member, shopName string) {
	if why := staff.PasswordProblem(f.Raw("password"), m, shopName); why != "" {
		f.Fail("password", why)
	} else if f.Raw("password") != f.Raw("again") {
		f.Fail("again", "The two passwords differ.")
	}
}

// Day reads a civil day as a date field sends it, as midnight UTC; blank gives the zero time.
func (f *Form) Day(name string) time.Time {
	text := f.Text(name)
	if text == "" {
		return time.Time{}
	}
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		f.Fail(name, "Give a day such as 2026-11-24.")
	}
	return t
}

// Under is what was typed into the fields whose names begin so, by the rest of their names.
func (f *Form) Under(prefix string) map[string][]string {
	values := map[string][]string{}
	for name, typed := range f.Values {
		if rest, ok := strings.CutPrefix(name, prefix); ok {
			values[rest] = typed
		}
	}
	return values
}

// FailUnder notes problems of fields whose names stand behind a prefix.
func (f *Form) FailUnder(prefix string, problems map[string]string) {
	for name, why := range problems {
		f.Fail(prefix+name, why)
	}
}

func OrZero(x *float64) float64 {
	if x == nil {
		return 0
	}
	return *x
}

// Decimal reads a number, with or without one of the units; blank gives nil. Anything else is a problem of the field.
func (f *Form) Decimal(name string, units ...string) *float64 {
	if f.Text(name) == "" {
		return nil
	}
	n, err := figure.Parse(f.Raw(name), units...)
	if err != nil {
		f.Fail(name, "Give a number such as 23.5.")
		return nil
	}
	x := n.Float()
	return &x
}

// Clock reads a time of day such as 09:00, 9:00:12 or 09:00:12.5; ok is false for blank, and for what can't be read,
// which is a problem of the field.
func (f *Form) Clock(name string) (sinceMidnight time.Duration, ok bool) {
	typed := strings.Replace(f.Text(name), ",", ".", 1)
	for _, layout := range []string{"15:04:05", "15:04"} { // a fraction of a second is read by either
		if t, err := time.Parse(layout, typed); err == nil {
			return t.Sub(time.Date(0, 1, 1, 0, 0, 0, 0, time.UTC)), true
		}
	}
	if typed == "" {
		f.Fail(name, "Give a time of day.")
	} else {
		f.Fail(name, "Give a time of day such as 09:00 or 09:00:12.")
	}
	return 0, false
}

// Amount reads an amount of a currency in minor units; nil for a field left empty, and where it can't be read, which is
// noted beside it.
func (f *Form) Amount(name, currency, locale string) *int64 {
	typed := f.Text(name)
	if typed == "" {
		return nil
	}
	minor, err := money.Parse(typed, currency, locale)
	if err != nil {
		f.Fail(name, money.Problem(err, currency))
		return nil
	}
	return &minor
}
