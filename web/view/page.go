// Package view draws Ledgerwheel's pages and papers. Every component is a function of the view model it is
// given: it asks no database, reads no clock and decides no rule. Text arrives formatted, in the reader's
// units and time zone.
//
// layout.templ  the page around everything, sheets, notices, small pieces
// form.templ    fields, each with its label, hint and error, and the summary of what to mend
// marks.templ   lozenge, figure, position, hazard and other small drawings
// rail.templ    the stages of a docket, the tabs of its sheets, the journal's timeline
// table.templ   ruled tables, definition lists, pagers
// outline.templ the outline of a watch on which its condition is marked
// print.templ   papers at true size
package view

import (
	"cmp"

	"github.com/a-h/templ"

	"ledgerwheel/web/static"
)

// Theme is how light a reader wants the pages.
type Theme string

// The three choices; ThemeAuto follows the reader's system.
const (
	ThemeAuto  Theme = "auto"
	ThemeLight Theme = "light"
	ThemeDark  Theme = "dark"
)

// ThemeCookie names the cookie that holds the reader's Theme; themeURL takes a POST of the fields
// "theme" and "back" (a path on this site), sets the cookie and answers 303 to back.
const (
	ThemeCookie = "theme"
	themeURL    = "/theme"
)

// ThemeOf reads a cookie or form value; anything unknown is ThemeAuto.
func ThemeOf(s string) Theme {
	if t := Theme(s); t == ThemeLight || t == ThemeDark {
		return t
	}
	return ThemeAuto
}

// Page is what Layout and PlainLayout need to know of a page.
type Page struct {
	Title string // of this page alone; the shop's name is added
	Shop  string // the shop's name, in the masthead
	Logo  string // address of the shop's logo, in place of our wheel; "" for none
	Home  string // where the shop's name leads; "/" when empty
	Path  string // this page's own path and query, for coming back to it
	Lang  string // BCP 47; "en-GB" when empty
	Dir   string // "rtl" turns the page; "" is left to right
	Theme Theme

	Nav  []NavItem
	Find *Find // the one find box; nil hides it
	Who  *Who  // nil when nobody is signed in

	Flash   *NoticeView  // said once, above the page's own content
	Trouble []NoticeView // what stands in the way of keeping the record, above all
	Plain   bool         // for strangers and customers: no help for forms of the shop is loaded
	Outside bool         // for people outside the shop alone: styled by little, and in their language
	Words   *FrameWords  // of the plain layout, in the reader's language; nil is English
	Scripts []string     // further modules by asset name, such as "js/listen.js"
}

// FrameWords are what stands around a page in the reader's language, and the other languages there are.
type FrameWords struct {
	Skip, Kept, Licences, Pages, Auto, Light, Dark string
	Languages                                      string // names the choice of language
	Tongues                                        []TongueLink
}

// TongueLink leads to the same page in a language. Name is the language's own name for itself.
type TongueLink struct {
	Code, Name, Href string // Code by ISO 639-1
	Current          bool
}

var englishFrame = FrameWords{Skip: "Skip to the page", Kept: "Kept with Ledgerwheel", Licences: "Licences", Pages: "Pages",
	Auto: "As the system", Light: "Light", Dark: "Dark"}

func (p Page) words() FrameWords {
	if p.Words == nil {
		return englishFrame
	}
	return *p.Words
}

// NavItem is one word of the masthead. Count, when above nought, is what waits there.
type NavItem struct {
	Text, Href, TestID string
	Current            bool
	Count              int
}

// SlashCookie keeps the choice of whoever has switched the key "/" off; its value is then SlashOff.
const (
	SlashCookie = "slash"
	SlashOff    = "off"
)

// Find is the masthead's find box: a GET form whose field is named q.
type Find struct {
	Action string // "/find" when empty
	Value  string
	Slash  bool // the key "/" leads here
}

// Who is the person signed in. SignOut takes a POST.
type Who struct {
	Name, Role string
	Href       string // their own page; "" shows the name only
	SignOut    string // "/sign-out" when empty
}

func (p Page) title() string {
	switch {
	case p.Shop == "" || p.Title == p.Shop:
		return p.Title
	case p.Title == "":
		return p.Shop
	}
	return p.Title + " · " + p.Shop
}

func (p Page) lang() string { return cmp.Or(p.Lang, "en-GB") }
func (p Page) dir() string  { return cmp.Or(p.Dir, "ltr") }
func (p Page) home() string { return cmp.Or(p.Home, "/") }
func (p Page) back() string { return cmp.Or(p.Path, "/") }

func (p Page) theme() string { return string(ThemeOf(string(p.Theme))) }

func (p Page) scripts() []string {
	paths := []string{static.Path("js/app.js")}
	if p.Plain {
		paths[0] = static.Path("js/plain.js")
	}
	for _, name := range p.Scripts {
		paths = append(paths, static.Path(name))
	}
	return paths
}

// HeadView is a page's heading. Over is the small line above it ("Docket"); Lede the sentence below;
// Numeral sets the title in tabular figures, for docket numbers.
type HeadView struct {
	Over, Title, Lede string
	Numeral           bool
}

// SheetView is one ruled sheet of a page. On wide screens the heading stands in the margin, left of the
// ledger's double rule; Wide puts it on top and gives the content the whole width.
type SheetView struct {
	ID, Heading, Note string
	Wide              bool
	TestID            string
}

func (s SheetView) headingID() string { return cmp.Or(s.ID, Slug(s.Heading)) + "-heading" }

// NoticeKind says how a notice is drawn and announced.
type NoticeKind string

const (
	Info    NoticeKind = "info"    // worth knowing
	Done    NoticeKind = "done"    // what was asked has happened
	Mend    NoticeKind = "mend"    // something the reader must put right
	Caution NoticeKind = "caution" // someone could be hurt or the watch harmed
)

// NoticeView is a short message; Title may be empty for Info and Done.
type NoticeView struct {
	Kind   NoticeKind
	Word   string // begins it, in the reader's language, and may say what is to be done; "" is the usual English word of the kind
	Title  string
	Text   string
	TestID string
}

// word is the kind said in words, so that the mark is never the only sign.
func (n NoticeView) word() string {
	if n.Word != "" {
		return n.Word
	}
	switch n.Kind {
	case Done:
		return "Done"
	case Mend:
		return "Please correct"
	case Caution:
		return "Caution"
	}
	return "Note"
}

// LinkView is a link as data. Quiet links are drawn as plain text links, others as buttons.
type LinkView struct {
	Text, Href, TestID string
	Kind               ButtonKind
	Download           bool
}

// EmptyView says that there is nothing and what could be done about it.
type EmptyView struct {
	Title, Text string
	Action      *LinkView
}

// PhotoView is one picture of a docket. Thumb is small, Full opens on its own.
type PhotoView struct {
	Thumb, Full   string
	Alt           string // what is to be seen, for who can't
	Caption       string
	Note          string // small, below the caption
	Width, Height int    // of the thumbnail, pixels, so that the page doesn't jump
}

func (p PhotoView) Size() templ.Attributes {
	if p.Width <= 0 || p.Height <= 0 {
		return nil
	}
	return templ.Attributes{"width": Itoa(p.Width), "height": Itoa(p.Height)}
}

// role is how a screen reader meets the notice: Mend interrupts, Done is said, the rest is read in its place.
func (n NoticeView) role() string {
	switch n.Kind {
	case Mend:
		return "alert"
	case Done:
		return "status"
	}
	return "note"
}
