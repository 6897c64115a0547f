package calibres

import (
	"cmp"
	"fmt"
	"net/http"
	"strings"

	"ledgerwheel/domain/figure"
	"ledgerwheel/domain/metrology"
	"ledgerwheel/domain/oscillator"
	"ledgerwheel/domain/staff"
	"ledgerwheel/domain/text"
	"ledgerwheel/domain/train"
	"ledgerwheel/domain/watch"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
	"ledgerwheel/web/page"
	"ledgerwheel/web/view"
)

// calibreHints say what a group of fields is for.
var calibreHints = map[string]string{
	watch.GroupTrain: "The counts are held against the beat and the seconds hand, in exact fractions.",
	watch.GroupBarrel: "What barrel and spring can give is held against the power reserve. Let the mainspring down " +
		"before a barrel is opened.",
	watch.GroupBalance: "With it the advice of a docket says how much to take off and where, and how far a stud would move.",
	watch.GroupScrews:  "With them the advice says which screws may be turned. All five or none.",
	watch.GroupSpring:  "Held against balance and beat.",
}

// calibreFormView is the form as typed, group by group, with what looks wrong about k beside its fields.
func calibreFormView(f *page.Form, k watch.Calibre, grades []view.Option) calibreView {
	page := calibreView{Form: f.View(), ID: k.ID, Remarks: remarkViews(k)}
	for _, field := range watch.CalibreFields() {
		n := len(page.Groups)
		if n == 0 || page.Groups[n-1].Name != field.Group {
			page.Groups = append(page.Groups, calibreFieldGroup{Name: field.Group, Hint: calibreHints[field.Group]})
			n++
		}
		g := &page.Groups[n-1]
		g.Fields = append(g.Fields, calibreFieldView(page.Form, field, grades))
		for _, remark := range page.Remarks {
			if remark.Field == field.Name {
				g.Remarks = append(g.Remarks, remark)
			}
		}
		g.Open = g.Open || f.Raw(field.Name) != "" || f.Problems[field.Name] != ""
	}
	return page
}

func calibreFieldView(f view.Form, field watch.CalibreField, grades []view.Option) fieldView {
	shown := f.Field(field.Name, field.Label).WithHint(field.Hint)
	if field.Need {
		shown = shown.Need()
	}
	switch field.Kind {
	case watch.WholeField, watch.FigureField:
		return fieldView{Kind: "number", Field: shown.WithUnit(field.Unit).WithWidth(view.Third)}
	case watch.GradeField:
		return fieldView{Kind: "select", Field: shown.WithOptions(grades...).WithWidth(view.Half)}
	case watch.LinesField:
		return fieldView{Kind: "textarea", Field: shown.WithRows(max(5, 2+strings.Count(shown.Value, "\n"))).WithAttr("dir",
			"auto")}
	}
	return fieldView{Kind: "text", Field: shown.WithWidth(view.Half).WithAttr("dir", "auto")}
}

func remarkViews(k watch.Calibre) []calibreRemark {
	labels := map[string]string{}
	for _, f := range watch.CalibreFields() {
		labels[f.Name] = f.Label
		if f.Group == watch.GroupSpring || f.Group == watch.GroupBalance {
			labels[f.Name] = f.Group + ": " + text.Uncapital(f.Label)
		}
	}
	var list []calibreRemark
	for _, r := range k.Remarks() {
		list = append(list, calibreRemark{Field: r.Field, Label: labels[r.Field], Text: r.Text, Contradicts: r.Contradicts})
	}
	return list
}

func (s *Room) calibreRecordView(r *http.Request, record store.CalibreRecord, grades []view.Option) calibreRecordView {
	k := record.Calibre
	v := calibreRecordView{ID: k.ID, Name: k.Name, Maker: k.Maker, MayEdit: page.May(r, staff.ManageCalibres),
		Remarks: remarkViews(k), Groups: calibreGroups(k, grades), Notes: k.Notes}
	for _, p := range k.Lubrication {
		v.Oils = append(v.Oils, [3]string{p.Place, p.Oil, p.Note})
	}
	for _, d := range record.Drawings {
		base := "/drawings/" + page.Itoa64(d.ID) + "/"
		width, height := page.ThumbSize(d.WidthPx, d.HeightPx)
		v.Drawings = append(v.Drawings, calibreDrawing{RemoveURL: "/calibres/" + page.Itoa64(k.ID) + "/drawings/" +
			page.Itoa64(d.ID) + "/remove",
			Added: fmt.Sprintf("added %s by %s", s.Moment(r, d.AddedAt), d.AddedBy),
			Photo: view.PhotoView{Thumb: base + string(files.Thumb), Full: base + string(files.Full), Alt: d.Caption,
				Caption: d.Caption, Width: width, Height: height}})
	}
	for _, h := range record.History {
		state := stateView{When: s.Moment(r, h.At), By: cmp.Or(h.By, "the program"), Why: h.Why, Docket: h.Docket,
			First: h.Version == 1}
		for _, d := range h.Changes {
			state.Changes = append(state.Changes, changeWords(d, state.First))
		}
		v.History = append(v.History, state)
	}
	return v
}

func changeWords(d watch.CalibreDifference, first bool) string {
	was, now := cmp.Or(d.Was, "not known"), cmp.Or(d.Now, "not known")
	if first {
		return d.Label() + ": " + now
	}
	return d.Label() + ": " + was + " → " + now
}

// calibreGroups are the groups of which something is known, with what follows from it.
func calibreGroups(k watch.Calibre, grades []view.Option) []calibreGroup {
	var groups []calibreGroup
	for _, f := range watch.CalibreFields() {
		typed := f.Typed(k)
		if typed == "" || f.Name == "name" || f.Name == "maker" || f.Kind == watch.LinesField {
			continue
		}
		if n := len(groups); n == 0 || groups[n-1].Name != f.Group {
			groups = append(groups, calibreGroup{Name: f.Group})
		}
		if f.Kind == watch.GradeField {
			typed = gradeName(grades, typed)
		}
		if f.Unit != "" {
			typed += " " + f.Unit
		}
		g := &groups[len(groups)-1]
		g.Terms = append(g.Terms, view.TermView{Term: f.Label, Cell: view.Cell{Text: typed, Auto: f.Kind == watch.LineField},
			TestID: "calibre-" + f.Name})
	}
	for i := range groups {
		groups[i].Terms = append(groups[i].Terms, calibreFollows(k, groups[i].Name)...)
	}
	return groups
}

// calibreFollows is what follows from the figures of a group.
func calibreFollows(k watch.Calibre, group string) []view.TermView {
	follows := func(id, term, text string) []view.TermView {
		return []view.TermView{{Term: term, Cell: view.Cell{Text: text}, TestID: "follows-" + id}}
	}
	switch group {
	case watch.GroupTrain:
		if t, err := train.Parse(k.Train); err == nil && len(t.Problems()) == 0 {
			return follows("beat", "Beats that the counts give", train.Fraction(t.Beats())+" per hour")
		}
	case watch.GroupBarrel:
		if hours, err := k.PossibleReserveHours(); err == nil {
			return follows("reserve", "The longest run of this barrel", fmt.Sprintf("%.1f h", hours))
		}
	case watch.GroupBalance:
		if k.Balance.InertiaMgCm2 > 0 && k.BeatsPerHour > 0 {
			spring := oscillator.StiffnessFor(metrology.Value{Value: k.Balance.InertiaMgCm2},
				metrology.Value{Value: float64(k.BeatsPerHour)}).Value
			return follows("spring", "The spring that gives its beat", figure.Plain(figure.Significant(spring, 3))+" µN·m/rad")
		}
	}
	return nil
}
