package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/store"
	"ledgerwheel/web/view"
)

type moveStore interface {
	Move(ctx context.Context, c store.Change, to docket.Stage, a docket.Act, benchID int64) error
	MoveWatch(ctx context.Context, c store.Change, p docket.Place) error
	Assign(ctx context.Context, c store.Change, benchID int64) error
}

// moveRoutes admit everyone to the moves, since each move asks for a permission of its own, which the table of
// moves names.
func (s *Server) moveRoutes() []route {
	return []route{
		{http.MethodPost, "/dockets/{number}/move", needs(staff.MoveWatch), s.moveDocket},
		{http.MethodPost, "/dockets/{number}/place", needs(staff.MoveWatch), s.moveWatch},
		{http.MethodPost, "/dockets/{number}/bench", needs(staff.PassToBench), s.assign},
	}
}

// moveDocket takes a docket to another stage.
func (s *Server) moveDocket(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	to := docket.Stage(f.Text("to"))
	if !to.Known() {
		return badRequest(fmt.Errorf("to: %q is no stage", to))
	}
	if c.Version == 0 {
		return badRequest(errors.New("a move needs the version that was seen"))
	}
	bench := f.ID("bench")
	act := docket.Act{Role: c.By.Role, Reason: f.Text("reason"), Place: placeOf(f)}
	if f.OK() {
		err = s.store.Move(r.Context(), c, to, act, bench)
	}
	said := "Now at " + to.Label() + "."
	if act.Place.Kind == docket.PlaceCustomer {
		said = "The watch has left the shop. The docket is closed."
	}
	return s.answerMove(w, r, c, refused{string(to), f}, err, said)
}

// moveWatch records that the watch lies elsewhere.
func (s *Server) moveWatch(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	p := placeOf(f)
	err = s.store.MoveWatch(r.Context(), c, p)
	return s.answerMove(w, r, c, refused{"place", f}, err, "The watch: "+p.String()+".")
}

// assign says who has the work in hand.
func (s *Server) assign(w http.ResponseWriter, r *http.Request) error {
	f, c, err := s.changeForm(w, r)
	if err != nil {
		return err
	}
	if bench := f.ID("bench"); f.OK() {
		err = s.store.Assign(r.Context(), c, bench)
	}
	return s.answerMove(w, r, c, refused{"bench", f}, err, "Written down who has it in hand.")
}

func placeOf(f *form) docket.Place {
	return docket.PlaceAt(docket.PlaceKind(f.Text("place")), f.Text("place_detail"))
}

// answerMove goes back to the docket when the move was made, and otherwise says beside the fields why not.
func (s *Server) answerMove(w http.ResponseWriter, r *http.Request, c store.Change, typed refused, err error, said string) error {
	f := typed.form
	e := ending{form: f, change: c, err: err, closed: "to", said: said, to: view.DocketURL(c.Number.String(), ""),
		words: func() map[string]string { return s.moveWords(r, c, f) },
		again: func(status int) error { return s.renderOverview(w, r, status, typed) }}
	var refusal *docket.Refusal
	var none *docket.NoMoveError
	switch {
	case errors.As(err, &refusal):
		failRefusal(f, refusal)
		e.err, e.refused = nil, refusedStatus(refusal)
	case errors.As(err, &none):
		f.Fail("to", "A docket can't go from "+none.From.Label()+" to "+none.To.Label()+". What you typed is below.")
		e.err = nil
	}
	return s.settle(w, r, e)
}

// failRefusal puts each reason of a refusal beside the field that it is about; what is about no field stands at the
// head of the form.
func failRefusal(f *form, refusal *docket.Refusal) {
	f.FailAll(refusal.Problems)
	bare := *refusal
	bare.Problems = nil
	if sentences := bare.Sentences(); len(sentences) > 0 {
		f.Fail("to", strings.Join(sentences, " "))
	}
}

// moveWords are the plain words for the values of a move's form that are none.
func (s *Server) moveWords(r *http.Request, c store.Change, f *form) map[string]string {
	words := map[string]string{"to": text.Capital(docket.Stage(f.Text("to")).Label()), "place": text.Capital(docket.PlaceKind(f.Text("place")).Label())}
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
func (s *Server) fillMoves(r *http.Request, v *view.OverviewView, d view.DocketView, o store.Overview, typed refused) {
	if d.Closed {
		v.Kept = keptTerms(typed)
		return
	}
	b := moveBuilder{viewer: actor(r), head: o.Head, bench: o.Bench, number: d.Number, typed: typed}
	shown := typed.what == "" || typed.what == "place" || typed.what == "bench"
	for _, m := range docket.Moves(o.Head.Docket.Stage) {
		mv := b.move(m)
		shown = shown || mv.To == typed.what && mv.Form != nil
		v.Moves = append(v.Moves, mv)
	}
	if !shown {
		v.Kept = keptTerms(typed)
	}
	openFirst(v.Moves, typed.what)
	if may(r, staff.MoveWatch) {
		v.Place = b.placeForm()
	}
	if may(r, staff.PassToBench) {
		v.Bench = b.benchForm()
	}
}

// keptTerms are what was typed into a form that the page doesn't show again.
func keptTerms(typed refused) []view.TermView {
	if typed.form == nil {
		return nil
	}
	terms, _ := typedValues(typed.form, map[string]string{
		"to":    text.Capital(docket.Stage(typed.form.Text("to")).Label()),
		"place": text.Capital(docket.PlaceKind(typed.form.Text("place")).Label())})
	return terms
}

// openFirst unfolds the move that was refused, else the first that can be made with nothing missing, else the first
// of all, so that what is missing on the usual way is seen at once.
func openFirst(moves []view.MoveView, what string) {
	if len(moves) == 0 || what == "place" || what == "bench" {
		return
	}
	open := slices.IndexFunc(moves, func(m view.MoveView) bool { return m.To == what })
	if open < 0 && what == "" {
		open = slices.IndexFunc(moves, func(m view.MoveView) bool {
			return m.Form != nil && len(m.Missing) == 0 && m.To != string(docket.StageWithdrawn)
		})
		open = max(open, 0)
	}
	if open >= 0 {
		moves[open].Open = true
	}
}

// moveBuilder makes the views of a docket's moves.
type moveBuilder struct {
	viewer store.Actor
	head   store.Head
	bench  []staff.Member
	number string
	typed  refused
}

func (b moveBuilder) move(m docket.Move) view.MoveView {
	v := view.MoveView{To: string(m.To), Label: m.Label}
	for _, n := range m.Unmet(b.head.Facts) {
		slug, name := needSheet(n.Key)
		need := view.NeedView{Text: n.Sentence(), Sheet: name}
		if slug != "" {
			need.Href = view.DocketURL(b.number, slug)
		}
		v.Missing = append(v.Missing, need)
	}
	if !staff.Can(b.viewer.Role, m.May) {
		v.Ask = roleNames(m.May)
		return v
	}
	if b.couldDo(m) || b.typed.what == string(m.To) {
		v.Form = b.form(m)
	}
	return v
}

// couldDo reports whether the move would be made if only the fields of its form were filled in well.
func (b moveBuilder) couldDo(m docket.Move) bool {
	for _, kind := range m.Places {
		if m.Check(b.head.Facts, docket.Act{Role: b.viewer.Role, Reason: "any", Place: docket.PlaceAt(kind, "any")}) == nil {
			return true
		}
	}
	return false
}

func roleNames(p staff.Permission) string {
	var names []string
	for _, r := range p.Holders() {
		names = append(names, "the "+r.Label())
	}
	return strings.Join(names, " or ")
}

// needSheet is the sheet on which a need is met.
func needSheet(key string) (slug, name string) {
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
	case "collector", "old-parts", "paid":
		return "hand-over", "hand-over"
	}
	return "", ""
}

func (b moveBuilder) form(m docket.Move) *view.MoveForm {
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
	v.Reason = f("reason", "Why").WithRows(2)
	if m.WantsReason(b.head.Facts) {
		v.Reason = v.Reason.Need().WithHint("This goes into the journal.")
	} else {
		v.Reason = v.Reason.Maybe()
	}
	return v
}

// fields gives the fields of one of the page's forms. Only the form that was refused holds what was typed and
// carries the ids to which the summary of problems leads; the others have ids of their own.
func (b moveBuilder) fields(prefix, what string) (field func(name, label string) view.Field, mine bool) {
	if b.typed.form != nil && b.typed.what == what {
		return b.typed.form.view().Field, true
	}
	blank := view.Form{Values: url.Values{}}
	return func(name, label string) view.Field {
		f := blank.Field(name, label)
		f.ID = prefix + "-" + name
		return f
	}, false
}

// placeFields ask where the watch is, and for the name of bench or workshop where one of the places has one.
func (b moveBuilder) placeFields(field func(name, label string) view.Field, kinds []docket.PlaceKind) (view.Field, *view.Field) {
	now := b.head.Docket.Place
	place := field("place", "Where the watch is then").Need().WithOptions(options(kinds, docket.PlaceKind.Label)...)
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

func (b moveBuilder) benchField(field func(name, label string) view.Field, m docket.Move) view.Field {
	f := field("bench", "Who has it in hand then").WithWidth(view.Half)
	if f.ID != "" {
		f.Value = b.likelyBench(m)
	}
	f.Options = []view.Option{{Text: "Nobody"}}
	for _, p := range b.bench {
		if !p.Disabled || p.ID == b.head.BenchID {
			f.Options = append(f.Options, view.Option{Value: strconv.FormatInt(p.ID, 10), Text: p.Name})
		}
	}
	return f
}

// likelyBench is who will likely have the work in hand: whoever has it, else the watchmaker who takes it on. Nobody
// works at what is ready or goes back.
func (b moveBuilder) likelyBench(m docket.Move) string {
	switch {
	case m.To == docket.StageReady || m.To.Exit():
		return ""
	case b.head.BenchID != 0:
		return strconv.FormatInt(b.head.BenchID, 10)
	case b.viewer.Role == staff.Watchmaker:
		return strconv.FormatInt(b.viewer.StaffID, 10)
	}
	return ""
}

// placeForm asks where the watch is, for when it moves without the docket moving.
func (b moveBuilder) placeForm() *view.CustodyForm {
	f, _ := b.fields("custody", "place")
	kinds := slices.DeleteFunc(docket.PlaceKinds(), func(k docket.PlaceKind) bool {
		return b.head.Docket.RelocateProblems(docket.PlaceAt(k, "any"))["place"] != ""
	})
	place, detail := b.placeFields(f, kinds)
	place.Label, detail.Width = "Where the watch is", view.Full
	return &view.CustodyForm{Action: view.DocketURL(b.number, "place"), Fields: []view.Field{place, *detail}, Radio: true,
		Button: view.ButtonView{Text: "Write down the place", TestID: "do-place"}}
}

// benchForm asks who has the work in hand.
func (b moveBuilder) benchForm() *view.CustodyForm {
	f, _ := b.fields("custody", "bench")
	bench := b.benchField(f, docket.Move{To: b.head.Docket.Stage})
	bench.Label, bench.Width = "Who has it in hand", view.Full
	if b.typed.what != "bench" {
		bench.Value = ""
		if b.head.BenchID != 0 {
			bench.Value = strconv.FormatInt(b.head.BenchID, 10)
		}
	}
	return &view.CustodyForm{Action: view.DocketURL(b.number, "bench"), Fields: []view.Field{bench},
		Button: view.ButtonView{Text: "Write down who has it", TestID: "do-bench"}}
}
