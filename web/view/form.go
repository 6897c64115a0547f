package view

import (
	"cmp"
	"net/url"
	"slices"

	"github.com/a-h/templ"
)

// Form is what was typed and what is wrong with it: the two things every field needs after a refused save.
// Values holds the text as typed; Problems is keyed by field name, as the domain's Problems methods give it.
type Form struct {
	Values   url.Values
	Problems map[string]string
	Asked    map[string]Question
}

// Question asks whether a figure that was typed is meant. The tick beside it is sent with the figure, so that it
// answers for that figure only.
type Question struct {
	Text string
	Of   string // the figure asked about, as typed
	Sure bool   // ticked
}

// SureName is the name of the tick beside a field.
func SureName(field string) string { return "sure-" + field }

// Field starts a field of f with its value as typed and its problem.
func (f Form) Field(name, label string) Field {
	return Field{Name: name, Label: label, Value: f.Values.Get(name), Values: f.Values[name], Error: f.Problems[name],
		Asked: f.Asked[name]}
}

// Field is one question of a form. The With methods return a changed copy, so that calls chain:
//
//	@TextField(form.Field("serial", "Serial").WithHint("As engraved").WithWidth(Half))
type Field struct {
	Name   string // also the data-testid
	Label  string
	Hint   string
	Error  string
	Beware []string // what the value leads to, though it may be kept
	Asked  Question // "" in its text for none; while it is not answered, Error says the same
	Value  string
	Values []string // for groups in which several may be chosen
	ID     string   // "f-" and the name when empty

	Required bool // says so to the browser's accessibility tree; the server checks
	Optional bool // adds "optional" to the label
	ReadOnly bool
	Disabled bool
	Focus    bool // gets the keyboard when the page opens
	HideName bool // label for screen readers only

	Type         string // of the input; "text" when empty
	InputMode    string
	Autocomplete string // "off" when empty
	Unit         string // shown after the input and read with the label
	MaxLength    int
	Rows         int // of a text area; 4 when nought
	Accept       string
	Multiple     bool
	Options      []Option
	Suggest      []string // offered while typing, by a datalist
	Width        Width
	Attrs        templ.Attributes // anything more, such as data-suggest-url
}

// Option is one choice. Hint stands below its text in radio and check groups.
type Option struct {
	Value, Text, Hint string
	Group             string // heading in a select; options of a group stand together
	Disabled          bool
}

// Width is how much of the line a field takes on wide screens.
type Width string

const (
	Full    Width = "full"    // the whole line
	Half    Width = "half"    // two to a line
	Third   Width = "third"   // three to a line
	Quarter Width = "quarter" // four to a line
)

func (f Field) WithHint(s string) Field         { f.Hint = s; return f }
func (f Field) WithUnit(s string) Field         { f.Unit = s; return f }
func (f Field) WithValue(s string) Field        { f.Value = s; return f }
func (f Field) WithWidth(w Width) Field         { f.Width = w; return f }
func (f Field) WithRows(n int) Field            { f.Rows = n; return f }
func (f Field) WithOptions(o ...Option) Field   { f.Options = o; return f }
func (f Field) WithSuggest(s ...string) Field   { f.Suggest = s; return f }
func (f Field) WithAutocomplete(s string) Field { f.Autocomplete = s; return f }
func (f Field) WithMaxLength(n int) Field       { f.MaxLength = n; return f }

// WithAttr adds one attribute to the input itself.
func (f Field) WithAttr(key string, value any) Field {
	attrs := templ.Attributes{key: value}
	for k, v := range f.Attrs {
		if k != key {
			attrs[k] = v
		}
	}
	f.Attrs = attrs
	return f
}

// Need marks the field as required; Maybe as optional; Focused gives it the keyboard.
func (f Field) WithBeware(s ...string) Field {
	f.Beware = append(f.Beware, s...)
	return f
}
func (f Field) Need() Field    { f.Required = true; return f }
func (f Field) Maybe() Field   { f.Optional = true; return f }
func (f Field) Focused() Field { f.Focus = true; return f }

// FieldID is the id of the input for a field name; FormErrors links to it.
func FieldID(name string) string { return "f-" + name }

func (f Field) id() string       { return cmp.Or(f.ID, FieldID(f.Name)) }
func (f Field) hintID() string   { return f.id() + "-hint" }
func (f Field) errorID() string  { return f.id() + "-error" }
func (f Field) bewareID() string { return f.id() + "-beware" }
func (f Field) unitID() string   { return f.id() + "-unit" }
func (f Field) listID() string   { return f.id() + "-list" }
func (f Field) testID() string   { return f.Name }

func (f Field) describedBy() string {
	return Join(When(f.Unit != "", f.unitID()), When(f.Hint != "", f.hintID()), When(f.Error != "", f.errorID()),
		When(len(f.Beware) > 0, f.bewareID()))
}

// attrs are what every kind of control carries.
func (f Field) attrs() templ.Attributes {
	a := templ.Attributes{"id": f.id(), "name": f.Name, "data-testid": f.testID()}
	if d := f.describedBy(); d != "" {
		a["aria-describedby"] = d
	}
	if f.Error != "" {
		a["aria-invalid"] = "true"
	}
	if f.Required {
		a["aria-required"] = "true"
	}
	if f.MaxLength > 0 {
		a["maxlength"] = Itoa(f.MaxLength)
	}
	a["autocomplete"] = cmp.Or(f.Autocomplete, "off")
	a["readonly"], a["disabled"], a["autofocus"] = f.ReadOnly, f.Disabled, f.Focus
	for k, v := range f.Attrs {
		a[k] = v
	}
	return a
}

// inputAttrs adds what a one-line input carries.
func (f Field) inputAttrs(kind, mode string) templ.Attributes {
	a := f.attrs()
	a["type"] = cmp.Or(f.Type, kind)
	if m := cmp.Or(f.InputMode, mode); m != "" {
		a["inputmode"] = m
	}
	if f.Type != "password" && kind != "file" {
		a["value"] = f.Value
	}
	if len(f.Suggest) > 0 {
		a["list"] = f.listID()
	}
	if f.Accept != "" {
		a["accept"] = f.Accept
	}
	a["multiple"] = f.Multiple
	return a
}

// choiceAttrs are one radio button's or check box's; i is its place in the group. The first carries the
// group's own id, so that a link from the summary of problems reaches it.
func (f Field) choiceAttrs(kind string, i int, o Option) templ.Attributes {
	a := templ.Attributes{"type": kind, "id": f.choiceID(i), "name": f.Name, "value": o.Value,
		"checked": f.chosen(o.Value), "disabled": f.Disabled || o.Disabled,
		"data-testid": f.testID() + "-" + o.Value}
	if o.Hint != "" {
		a["aria-describedby"] = f.choiceID(i) + "-hint"
	}
	if f.Focus && i == 0 {
		a["autofocus"] = true
	}
	for k, v := range f.Attrs {
		a[k] = v
	}
	return a
}

func (f Field) choiceID(i int) string {
	if i == 0 {
		return f.id()
	}
	return f.id() + "-" + Itoa(i)
}

func (f Field) chosen(value string) bool {
	if len(f.Values) > 0 {
		return slices.Contains(f.Values, value)
	}
	return f.Value == value && value != ""
}

// optionGroups splits the options by Group, in the order the groups first appear.
func (f Field) optionGroups() []optionGroup {
	var groups []optionGroup
	for _, o := range f.Options {
		if n := len(groups); n > 0 && groups[n-1].name == o.Group {
			groups[n-1].options = append(groups[n-1].options, o)
			continue
		}
		groups = append(groups, optionGroup{o.Group, []Option{o}})
	}
	return groups
}

type optionGroup struct {
	name    string
	options []Option
}

func (f Field) class() string {
	return Join("field", string(cmp.Or(f.Width, Full)), When(f.Error != "", "wrong"))
}

func (f Field) labelClass() string { return When(f.HideName, "aside") }

// orderedProblems lists the problems in the order of the page's fields; those not named come last, by name.
func orderedProblems(problems map[string]string, order []string) []Problem {
	var list []Problem
	for name, text := range problems {
		list = append(list, Problem{Name: name, Text: text})
	}
	rank := func(p Problem) int {
		if i := slices.Index(order, p.Name); i >= 0 {
			return i
		}
		return len(order)
	}
	slices.SortFunc(list, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a.Name, b.Name))
	})
	return list
}

// Problem is what is wrong with one field.
type Problem struct{ Name, Text string }

// ButtonKind is how much a button asks for attention.
type ButtonKind string

const (
	Chief ButtonKind = "chief" // the one thing most come to this page to do
	Plain ButtonKind = "plain" // anything else
	Quiet ButtonKind = "quiet" // drawn as a link
	Grave ButtonKind = "grave" // can't be taken back
)

// ButtonView is a button of a form. Name and Value are sent when it is the one pressed.
type ButtonView struct {
	Text, Name, Value string
	Kind              ButtonKind // Plain when empty
	TestID            string
	Action            string // another address to post the form to
	Form              string // id of a form elsewhere on the page
	Attrs             templ.Attributes
}

func (b ButtonView) attrs() templ.Attributes {
	a := templ.Attributes{"type": "submit"}
	for key, value := range map[string]string{"name": b.Name, "formaction": b.Action, "form": b.Form,
		"data-testid": b.TestID} {
		if value != "" {
			a[key] = value
		}
	}
	if b.Name != "" {
		a["value"] = b.Value
	}
	for k, v := range b.Attrs {
		a[k] = v
	}
	return a
}

// NumberCell is one cell of a number grid. Its row and column are headings on the page, named by ids.
type NumberCell struct {
	Name, Value, Error string
	RowID, ColumnID    string // ids of the row's and the column's heading
	Group              string // an id naming a group of columns, read between row and column; "" none
}

func (c NumberCell) Attrs() templ.Attributes {
	id := FieldID(c.Name)
	a := templ.Attributes{"id": id, "name": c.Name, "value": c.Value, "type": "text", "inputmode": "decimal",
		"autocomplete": "off", "data-testid": c.Name, "aria-labelledby": Join(c.RowID, c.Group, c.ColumnID)}
	if c.Error != "" {
		a["aria-invalid"], a["aria-describedby"] = "true", id+"-error"
	}
	return a
}

func (f Field) rows() int { return cmp.Or(f.Rows, 4) }

func (f Field) checkAttrs() templ.Attributes {
	a := f.attrs()
	delete(a, "autocomplete")
	a["type"], a["value"], a["checked"] = "checkbox", "yes", f.Value != ""
	return a
}

func (b ButtonView) kind() ButtonKind { return cmp.Or(b.Kind, Plain) }

func (l LinkView) kind() string { return string(cmp.Or(l.Kind, Plain)) }

func (l LinkView) attrs() templ.Attributes {
	a := templ.Attributes{"download": l.Download}
	if l.TestID != "" {
		a["data-testid"] = l.TestID
	}
	return a
}

func (f Field) groupAttrs() templ.Attributes {
	a := templ.Attributes{"data-testid": f.testID() + "-group"}
	if d := f.describedBy(); d != "" {
		a["aria-describedby"] = d
	}
	return a
}

// FieldValue is one value of a form, carried unseen. A field with several values comes several times.
type FieldValue struct{ Name, Value string }

func (f Field) saidID() string { return f.id() + "-said" }

// saidAttrs are those of an input whose amount is said back.
func (f Field) saidAttrs() templ.Attributes {
	attrs := f.inputAttrs("text", "decimal")
	attrs["data-suggest-url"] = "/said/money?currency=" + url.QueryEscape(f.Unit)
	attrs["data-suggest-into"], attrs["data-suggest-least"] = f.saidID(), "1"
	return attrs
}
