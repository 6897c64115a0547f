package sheet

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/insured"
	"ledgerwheel/domain/message"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// moveRoutes admit everyone to the moves, since each move asks for a permission of its own, which the table of
// moves names.
func (s *Frame) moveRoutes() []page.Route {
	return []page.Route{
		page.Post("/dockets/{number}/move", page.Needs(staff.MoveWatch), s.moveDocket),
		page.Post("/dockets/{number}/place", page.Needs(staff.MoveWatch), s.moveWatch),
		page.Post("/dockets/{number}/bench", page.Needs(staff.PassToBench), s.assign),
	}
}

// moveDocket takes a docket to another stage.
func (s *Frame) moveDocket(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	to := docket.Stage(f.Text("to"))
	if !to.Known() {
		return page.BadRequest(fmt.Errorf("to: %q is no stage", to))
	}
	if c.Version == 0 {
		return page.BadRequest(errors.New("a move needs the version that was seen"))
	}
	bench := f.ID("bench")
	c.Tell = ReadTell(f)
	act := docket.Act{Role: c.By.Role, Reason: f.Text("reason"), Place: placeOf(f)}
	if f.OK() {
		err = s.store.Move(r.Context(), c, to, act, bench)
	}
	said := "Now at " + to.Label() + "."
	if to == docket.StageReady && c.Tell.Way != "" {
		said += " The customer is told " + c.Tell.Way.Words() + "."
	}
	if act.Place.Kind == docket.PlaceCustomer {
		said = "The watch has left the shop. The docket is closed."
	}
	return s.answerMove(w, r, c, Refused{string(to), f}, err, said+s.overAt(r, act.Place, err == nil && f.OK()))
}

// overAt says which of the insurer's limits are exceeded where a watch was moved to, "" for none.
func (s *Frame) overAt(r *http.Request, p docket.Place, moved bool) (said string) {
	if !moved || p.Kind == docket.PlaceCustomer {
		return ""
	}
	risk, err := s.store.AtRisk(r.Context())
	if err != nil {
		return "" // the watch is moved: the owner's page says it too
	}
	for _, o := range risk.Limits.Exceeded(risk.Held) {
		if o.Limit.Counts(p.Kind) && o.Limit != insured.InAll {
			said += " " + o.Sentence(page.LocaleOf(r), false)
		}
	}
	return said
}

// moveWatch records that the watch lies elsewhere.
func (s *Frame) moveWatch(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	p := placeOf(f)
	err = s.store.MoveWatch(r.Context(), c, p)
	return s.answerMove(w, r, c, Refused{"place", f}, err, "The watch: "+p.String()+"."+s.overAt(r, p, err == nil && f.OK()))
}

// assign says who has the work in hand.
func (s *Frame) assign(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.ChangeForm(w, r)
	if err != nil {
		return err
	}
	if bench := f.ID("bench"); f.OK() {
		err = s.store.Assign(r.Context(), c, bench)
	}
	return s.answerMove(w, r, c, Refused{"bench", f}, err, "Written down who has it in hand.")
}

func placeOf(f *page.Form) docket.Place {
	return docket.PlaceAt(docket.PlaceKind(f.Text("place")), f.Text("place_detail"))
}

// answerMove goes back to the docket when the move was made, and otherwise says beside the fields why not.
func (s *Frame) answerMove(w http.ResponseWriter, r *http.Request, c store.Change, typed Refused, err error,
	said string) error {
	f := typed.Form
	e := Ending{Form: f, Change: c, Err: err, Closed: "to", Said: said, To: view.DocketURL(c.Number.String(), ""),
		Words: func() map[string]string { return s.moveWords(r, c, f) },
		Again: func(status int) error { return s.renderOverview(w, r, status, typed) }}
	var refusal *docket.Refusal
	var none *docket.NoMoveError
	switch {
	case errors.As(err, &refusal):
		failRefusal(f, refusal)
		e.Err, e.refused = nil, page.RefusedStatus(refusal)
	case errors.As(err, &none):
		f.Fail("to", "A docket can't go from "+none.From.Label()+" to "+none.To.Label()+". What you typed is below.")
		e.Err = nil
	}
	return s.Settle(w, r, e)
}

// failRefusal puts each reason of a refusal beside the field that it is about; what is about no field stands at the
// head of the form.
func failRefusal(f *page.Form, refusal *docket.Refusal) {
	f.FailAll(refusal.Problems)
	bare := *refusal
	bare.Problems = nil
	if sentences := bare.Sentences(); len(sentences) > 0 {
		f.Fail("to", strings.Join(sentences, " "))
	}
}

// moveWords are the plain words for the values of a move's form that are none.
func (s *Frame) moveWords(r *http.Request, c store.Change, f *page.Form) map[string]string {
	words := map[string]string{"to": text.Capital(docket.Stage(f.Text("to")).Label()),
		"place": text.Capital(docket.PlaceKind(f.Text("place")).Label())}
	o, err := s.store.Overview(r.Context(), c.Number)
	if err != nil {
		return words // the page can do without a name
	}
	for _, m := range o.Bench {
		if strconv.FormatInt(m.ID, 10) == f.Text("bench") {
			words["bench"] = m.Name
		}
	}
	return words
}

// fillMoves adds what may happen next to the overview, and the forms that say where the watch is and who has it.
func (s *Frame) fillMoves(r *http.Request, v *overviewView, d view.DocketView, o store.Overview, typed Refused) {
	if d.Closed {
		v.Kept = keptTerms(typed)
		return
	}
	b := MoveBuilder{Viewer: page.Actor(r), Head: o.Head, Bench: o.Bench, Number: d.Number, Home: HomeOf(r), typed: typed, Over: overBy(o, page.LocaleOf(r))}
	shown := typed.What == "" || typed.What == "place" || typed.What == "bench"
	for _, m := range docket.Moves(o.Head.Docket.Stage) {
		mv := b.Move(m)
		shown = shown || mv.To == typed.What && mv.Form != nil
		v.Moves = append(v.Moves, mv)
	}
	if !shown {
		v.Kept = keptTerms(typed)
	}
	v.CustodyOpen = typed.What == "place" || typed.What == "bench"
	openRefused(v.Moves, typed.What)
	if page.May(r, staff.MoveWatch) {
		v.Place = b.placeForm()
	}
	if page.May(r, staff.PassToBench) {
		v.Bench = b.benchForm()
	}
}

// keptTerms are what was typed into a form that the page doesn't show again.
func keptTerms(typed Refused) []view.TermView {
	if typed.Form == nil {
		return nil
	}
	terms, _ := typedValues(typed.Form, map[string]string{
		"to":    text.Capital(docket.Stage(typed.Form.Text("to")).Label()),
		"place": text.Capital(docket.PlaceKind(typed.Form.Text("place")).Label())})
	return terms
}

// openRefused unfolds the move that was refused. The next thing to do stands in the head; everything else is a fold away.
func openRefused(moves []view.MoveView, what string) {
	for i := range moves {
		moves[i].Open = moves[i].To == what
	}
}

// MoveBuilder makes the views of a docket's moves.
type MoveBuilder struct {
	Viewer store.Actor
	Head   store.Head
	Bench  []staff.Member
	Number string
	Home   string                      // country by which the shop reads numbers
	Over   map[docket.PlaceKind]string // what the watch would bring above the insurer's limits there
	typed  Refused
}

func (b MoveBuilder) Move(m docket.Move) view.MoveView {
	v := view.MoveView{To: string(m.To), Label: m.Label}
	for _, n := range m.Unmet(b.Head.Facts) {
		slug, name := NeedSheet(n.Key)
		need := view.NeedView{Text: n.Sentence(), Sheet: name}
		if slug != "" {
			need.Href = view.DocketURL(b.Number, slug)
		}
		v.Missing = append(v.Missing, need)
	}
	if !staff.Can(b.Viewer.Role, m.May) {
		v.Ask = RoleNames(m.May)
		return v
	}
	if b.couldDo(m) || b.typed.What == string(m.To) {
		v.Form = b.form(m)
	}
	return v
}

// couldDo reports whether the move would be made if only the fields of its form were filled in well.
func (b MoveBuilder) couldDo(m docket.Move) bool {
	for _, kind := range m.Places {
		if m.Check(b.Head.Facts, docket.Act{Role: b.Viewer.Role, Reason: "any", Place: docket.PlaceAt(kind, "any")}) == nil {
			return true
		}
	}
	return false
}

func RoleNames(p staff.Permission) string {
	var names []string
	for _, r := range p.Holders() {
		names = append(names, "the "+r.Label())
	}
	return strings.Join(names, " or ")
}

// NeedSheet is the sheet on which a need is met.
func NeedSheet(key string) (slug, name string) {
	switch key {
	case "condition":
		return "intake", "intake"
	case "findings", "hazards", "as-received-run":
		return "diagnosis", "diagnosis"
	case "agreed", "estimate-declined":
		return "estimate", "the estimate"
	case "parts":
		return "parts", "parts"
	case "service-steps":
		return "service", "service"
	case "final-run", "final-run-passed":
		return "regulation", "regulation"
	case "final-test-passed", "final-test-failed":
		return "final-test", "the final test"
	case docket.NeedCover:
		return "comeback", "the comeback"
	case docket.NeedLoanBack:
		return "loan", "the loan watch"
	case "collector", "old-parts", "paid":
		return "hand-over", "hand-over"
	}
	return "", ""
}

func (b MoveBuilder) form(m docket.Move) *view.MoveForm {
	f, mine := b.fields("move-"+string(m.To), string(m.To))
	id := "move-form-" + string(m.To)
	if mine {
		id = view.FieldID("to")
	}
	kind := view.Chief
	if m.Reason || m.Closes || m.To.Exit() {
		kind = view.Plain
	}
	v := &view.MoveForm{ID: id, Button: view.ButtonView{Text: m.Label, Kind: kind, TestID: "do-" + string(m.To)}}
	v.Place, v.Detail = b.placeFields(f, m.Places)
	if len(m.Places) == 1 {
		v.OnlyPlace = string(m.Places[0])
	}
	if !m.Closes {
		bench := b.benchField(f, m)
		v.Bench = &bench
	}
	if m.To == docket.StageReady {
		form, prefix := view.Form{Values: url.Values{}}, "move-"+string(m.To)
		if mine {
			form, prefix = b.typed.Form.View(), ""
		}
		tell := Telling(form, message.Reach{Customer: b.Head.Customer}, b.Home, prefix, "That the watch is ready, and what is still to pay.")
		v.Tell = &tell
	}
	v.Reason = f("reason", "Why").WithRows(2)
	if m.WantsReason(b.Head.Facts) {
		v.Reason = v.Reason.Need().WithHint("This goes into the journal.")
	} else {
		v.Reason = v.Reason.Maybe()
	}
	return v
}

// fields gives the fields of one of the page's forms. Only the form that was refused holds what was typed and
// carries the ids to which the summary of problems leads; the others have ids of their own.
func (b MoveBuilder) fields(prefix, what string) (field func(name, label string) view.Field, mine bool) {
	if b.typed.Form != nil && b.typed.What == what {
		return b.typed.Form.View().Field, true
	}
	blank := view.Form{Values: url.Values{}}
	return func(name, label string) view.Field {
		f := blank.Field(name, label)
		f.ID = prefix + "-" + name
		return f
	}, false
}

// placeFields ask where the watch is, and for the name of bench or workshop where one of the places has one.
func (b MoveBuilder) placeFields(field func(name, label string) view.Field, kinds []docket.PlaceKind) (view.Field,
	*view.Field) {
	now := b.Head.Docket.Place
	place := field("place", "Where the watch is then").Need().WithOptions(b.placeOptions(kinds)...)
	detail := field("place_detail", "Bench or workshop").WithHint("The bench's name or number, or to whom it is sent.").WithMaxLength(80).WithWidth(view.Half)
	if place.ID != "" { // not the form that was refused: begins with where the watch is now
		if slices.Contains(kinds, now.Kind) {
			place.Value, detail.Value = string(now.Kind), now.Detail
		} else if len(kinds) > 0 {
			place.Value = string(kinds[0])
		}
	}
	if !slices.ContainsFunc(kinds, docket.PlaceKind.NeedsDetail) {
		return place, nil
	}
	return place, &detail
}

// placeOptions are the kinds of place, with what is above the insurer's limit where the watch goes there.
func (b MoveBuilder) placeOptions(kinds []docket.PlaceKind) []view.Option {
	list := page.Options(kinds, docket.PlaceKind.Label)
	for i, k := range kinds {
		list[i].Hint = b.Over[k]
	}
	return list
}

// overBy says, by place, which of the insurer's limits the watch would exceed there, with what lies there already.
func overBy(o store.Overview, locale string) map[docket.PlaceKind]string {
	said := map[docket.PlaceKind]string{}
	d := o.Head.Docket
	for _, k := range docket.PlaceKinds() {
		c := insured.Coming{Minor: d.DeclaredValueMinor, Currency: d.Currency, From: d.Place.Kind, To: k}
		said[k] = OverWords(o.Risk.Limits.Brings(o.Risk.Held, c), locale)
	}
	return said
}

// OverWords says which of the insurer's limits would be exceeded, "" for none.
func OverWords(over []insured.Over, locale string) string {
	var said []string
	for _, o := range over {
		said = append(said, o.Sentence(locale, true))
	}
	return strings.Join(said, " ")
}

func (b MoveBuilder) benchField(field func(name, label string) view.Field, m docket.Move) view.Field {
	f := field("bench", "Who has it in hand then").WithWidth(view.Half)
	if f.ID != "" {
		f.Value = b.likelyBench(m)
	}
	f.Options = []view.Option{{Text: "Nobody"}}
	for _, p := range b.Bench {
		if !p.Disabled || p.ID == b.Head.BenchID {
			f.Options = append(f.Options, view.Option{Value: strconv.FormatInt(p.ID, 10), Text: p.Name})
		}
	}
	return f
}

// likelyBench is who will likely have the work in hand: whoever has it, else the watchmaker who takes it on. Nobody
// works at what is ready or goes back.
func (b MoveBuilder) likelyBench(m docket.Move) string {
	switch {
	case m.To == docket.StageReady || m.To.Exit():
		return ""
	case b.Head.BenchID != 0:
		return strconv.FormatInt(b.Head.BenchID, 10)
	case b.Viewer.Role == staff.Watchmaker:
		return strconv.FormatInt(b.Viewer.StaffID, 10)
	}
	return ""
}

// placeForm asks where the watch is, for when it moves without the docket moving.
func (b MoveBuilder) placeForm() *custodyFormView {
	f, _ := b.fields("custody", "place")
	kinds := slices.DeleteFunc(docket.PlaceKinds(), func(k docket.PlaceKind) bool {
		return b.Head.Docket.RelocateProblems(docket.PlaceAt(k, "any"))["place"] != ""
	})
	place, detail := b.placeFields(f, kinds)
	place.Label, detail.Width = "Where the watch is", view.Full
	return &custodyFormView{Action: view.DocketURL(b.Number, "place"), Fields: []view.Field{place, *detail}, Radio: true,
		Button: view.ButtonView{Text: "Write down the place", TestID: "do-place"}}
}

// benchForm asks who has the work in hand.
func (b MoveBuilder) benchForm() *custodyFormView {
	f, _ := b.fields("custody", "bench")
	bench := b.benchField(f, docket.Move{To: b.Head.Docket.Stage})
	bench.Label, bench.Width = "Who has it in hand", view.Full
	if b.typed.What != "bench" {
		bench.Value = ""
		if b.Head.BenchID != 0 {
			bench.Value = strconv.FormatInt(b.Head.BenchID, 10)
		}
	}
	return &custodyFormView{Action: view.DocketURL(b.Number, "bench"), Fields: []view.Field{bench},
		Button: view.ButtonView{Text: "Write down who has it", TestID: "do-bench"}}
}
