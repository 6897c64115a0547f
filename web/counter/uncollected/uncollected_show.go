package uncollected

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/uncollected"
	"ledgerwheel/store"
	"ledgerwheel/web/page"
	"ledgerwheel/web/sheet"
	"ledgerwheel/web/view"
)

func (s *Room) render(w http.ResponseWriter, r *http.Request, status int, typed sheet.Refused) error {
	n, err := page.PathNumber(r)
	if err != nil {
		return err
	}
	record, err := s.store.UncollectedSheet(r.Context(), n)
	if err != nil {
		return err
	}
	p, d := s.DocketPage(r, record.Head, "hand-over")
	p.Title = "Uncollected: " + d.Number
	b := builder{s: s, r: r, record: record, typed: typed}
	return page.Render(w, r, status, waiting(p, d, b.page()))
}

// builder makes the page of a watch that waits.
type builder struct {
	s      *Room
	r      *http.Request
	record store.UncollectedSheet
	typed  sheet.Refused
}

func (b builder) page() waitingView {
	viewer, _ := page.ViewerOf(b.r.Context())
	v := waitingView{Problems: b.typed.Problems(), NoAdvice: uncollected.NoAdvice, Profile: "No profile of the place is confirmed."}
	if page.May(b.r, staff.ManageSettings) {
		v.ToSet = &view.LinkView{Text: "Choose and confirm it", Href: "/place-profile"}
	}
	profile := b.record.Profile
	if profile.Confirmed() {
		v.Profile = "Counted by the profile " + profile.Profile.Place + ", which " + profile.By + " confirmed on " +
			b.s.Day(b.r, b.s.CivilDayOf(b.r, profile.At)) + "."
		if v.ToSet != nil {
			v.ToSet.Text = "See or change it"
		}
	}
	v.Since, v.Mark, v.Word = "-", view.NotMeasured, "not waiting"
	v.Days, v.Says = "Not waiting", "A watch waits to be collected once it is ready, declined or withdrawn."
	if b.record.Head.Docket.Waits() {
		facts := b.record.Facts(b.s.Today(b.r), viewer.Shop.Location())
		st := uncollected.Stand(profile.Profile, profile.Confirmed(), facts)
		v.Since, v.Word, v.Says = b.s.Day(b.r, facts.ReadyOn), st.Step.Words(), st.Words
		v.Days = strconv.Itoa(st.Days) + " days"
		if st.Days == 1 {
			v.Days = "1 day"
		}
		v.Next = b.s.Day(b.r, st.Next)
		if st.Late() {
			v.Mark = view.Undecided
		}
		b.fillForms(&v, st)
	}
	for _, n := range b.record.Notices {
		v.Letters = append(v.Letters, b.letter(n))
	}
	for _, k := range b.record.Blocks {
		v.Blocks = append(v.Blocks, b.block(k))
	}
	if b.record.Listed {
		v.Blocks = append(v.Blocks, blockRow{What: uncollected.Listed.Words(), Words: "See the docket's intake and the journal. It stands while the entry of the list does."})
	}
	return v
}

// fillForms offers the letters and the notes that can be made now.
func (b builder) fillForms(v *waitingView, st uncollected.Standing) {
	if !page.May(b.r, staff.WriteNotices) {
		return
	}
	kind := b.field(formBlock, "kind", "What it is").Need()
	for _, k := range uncollected.BlockKinds() {
		kind.Options = append(kind.Options, view.Option{Value: string(k), Text: k.Words()})
	}
	v.Block = &blockForm{Kind: kind, Words: b.field(formBlock, "words", "What is known").Need().WithRows(2).WithAttr("dir", "auto")}
	blocks, confirmed := b.record.Standing(), b.record.Profile.Confirmed()
	if why := uncollected.WritingProblem(uncollected.CollectNotice, confirmed, blocks); why != "" {
		v.Why = why
		return
	}
	v.Collect = b.letterForm(formNotice, "Write a collect notice", st.Step == uncollected.CollectDue)
	if page.May(b.r, staff.WriteFormal) && uncollected.WritingProblem(uncollected.FormalNotice, confirmed, blocks) == "" {
		v.Formal = b.letterForm(formFormal, "Write a formal notice", st.Step == uncollected.FormalDue)
		p := b.record.Profile.Profile
		v.Formal.Note = "The profile has it go by " + p.Form + ", and state: " + strings.Join(p.States, "; ") + ". " + strings.Join(p.Also, " ")
		until := b.field(formFormal, "until", "To be collected by").Need().WithWidth(view.Third)
		if span := p.Notice; until.Value == "" && span.Fixed() {
			until.Value = span.After(b.s.Today(b.r)).Format("2006-01-02")
		}
		own := b.field(formFormal, "own", "Your own sentences").Maybe().WithRows(3).WithHint("What you mean to do, in the words that somebody " +
			"who knows the law gave you, in the customer's language. The program adds none.")
		v.Formal.Fields = append(v.Formal.Fields, until, own)
	}
}

func (b builder) letterForm(slug, heading string, chief bool) *letterForm {
	h := b.record.Head
	address := b.field(slug, "addressee", "To").Need().WithRows(4).WithAttr("dir", "auto")
	if b.typed.What != slug {
		address.Value = strings.TrimSpace(h.Customer.Name + "\n" + h.Customer.Address)
	}
	f := &letterForm{Slug: slug, Heading: heading, Fields: []view.Field{address},
		Button: view.ButtonView{Text: heading, TestID: "write-" + slug, Kind: view.Plain}}
	if chief || b.typed.What == slug {
		f.Button.Kind = view.Chief
	}
	return f
}

// field is a field of one form of the page.
func (b builder) field(what, name, label string) view.Field {
	if b.typed.Form != nil && b.typed.What == what {
		return b.typed.Form.View().Field(name, label)
	}
	f := view.Form{Values: url.Values{}}.Field(name, label)
	f.ID = what + "-" + name
	return f
}

func (b builder) letter(n store.NoticeRow) letterRow {
	id := strconv.FormatInt(n.ID, 10)
	number := b.record.Head.Docket.Number.String()
	row := letterRow{Title: text.Capital(n.Kind.Words()), Written: "written " + b.s.Day(b.r, n.WrittenOn) + " by " + n.By + ".",
		Print: view.LinkView{Text: "Print it", Href: view.DocketURL(number, "papers/notice?notice="+id), TestID: "print-notice"}}
	switch p := n.Posting; {
	case !p.On.IsZero():
		row.Posted = "Posted " + b.s.Day(b.r, p.On)
		if p.Number != "" {
			row.Posted += ", number " + p.Number
		}
		if p.PhotoID != 0 {
			row.Posted += ", with a photograph of its receipt"
		}
		row.Posted += "; kept by " + n.PostedBy + "."
	case page.May(b.r, staff.WriteNotices):
		mine := b.typed.What == formPosted && b.typed.Form != nil && b.typed.Form.Text("notice") == id
		field := func(name, label string) view.Field {
			f := b.field(formPosted, name, label)
			if !mine {
				f = view.Field{Name: name, Label: label, ID: "posted-" + id + "-" + name}
			}
			return f
		}
		photo := field("photo", "Photograph of its receipt").WithWidth(view.Third).WithOptions(view.Option{Text: "none"})
		for _, c := range sheet.PhotoViews(b.record.Photos) {
			photo.Options = append(photo.Options, view.Option{Value: c.ID, Text: c.Photo.Alt})
		}
		row.Post = &postForm{Notice: id, On: field("posted_on", "Posted on").Need().WithWidth(view.Third),
			Number: field("post_number", "Number of the posting").WithWidth(view.Third), Photo: photo}
	}
	return row
}

func (b builder) block(k store.BlockRow) blockRow {
	row := blockRow{What: k.Kind.Words(), Words: k.Words, Noted: k.By + ", " + b.s.Moment(b.r, k.At), ID: strconv.FormatInt(k.ID, 10)}
	if !k.LiftedAt.IsZero() {
		row.Lifted = "No longer stands since " + b.s.Moment(b.r, k.LiftedAt) + ", " + k.LiftedBy + ": " + k.LiftedWhy
		return row
	}
	if page.May(b.r, staff.WriteNotices) {
		why := b.field(formLift, "why", "Why it no longer stands").Need()
		if b.typed.What != formLift || b.typed.Form.Text("block") != row.ID {
			why = view.Field{Name: "why", Label: why.Label, ID: "lift-" + row.ID + "-why", Required: true}
		}
		row.Why = &why
	}
	return row
}
