package bench

import (
	"github.com/a-h/templ"

	"ledgerwheel/web/view"
)

// diagnosisView is the diagnosis sheet of a docket.
type diagnosisView struct {
	Form        view.Form // the refused form, if one was
	Components  []componentView
	Struck      []findingView
	Hazards     []hazardView
	MoreHazards []view.Option // those that can be added by hand
	AsReceived  asReceivedView
	MayDiagnose bool
	Before      view.BeforeView // of a comeback
}

// componentView is a component with what was found on it and the form to note more.
type componentView struct {
	Slug, Name string
	Findings   []findingView
	Form       findingFormView
	Open       bool // the form was refused and is shown again
}

// findingView is a finding as shown.
type findingView struct {
	ID                 string
	Component          string
	Fault, Note        string
	Severity           string // in words
	Grave              bool   // must be mended
	By, At             string
	StruckBy, StruckAt string
	Corrected          bool // another stands in its place
	Photo              *view.PhotoView
	PhotoRemoved       bool
	CorrectURL         string // "" for those who may not
}

// findingFormView asks for a finding. Its fields are told apart from those of other components by Prefix.
type findingFormView struct {
	Prefix     string
	Form       view.Form
	Faults     []view.Option // usual ones, one of which may be chosen
	Severities []view.Option
	Photos     []view.Option
}

// hazardView is a hazard with its cautions, always in full.
type hazardView struct {
	Slug, Title    string
	Cautions       []string
	Defer          string
	AcknowledgedBy string // with the time; "" while nobody has
	AcknowledgeURL string // "" for those who may not
}

// asReceivedView is the run before any work, in a few figures.
type asReceivedView struct {
	Taken    string // when and by whom; "" when there is none
	Figures  []view.FigureView
	SheetURL string
}

// correctFindingView is the page of one finding.
type correctFindingView struct {
	Form      findingFormView
	Strike    view.Form
	Component string
	Said      findingView
	Action    string
}

// field starts a field whose id no other component's form has.
func (f findingFormView) field(name, label string) view.Field {
	field := f.Form.Field(name, label)
	if f.Prefix != "" {
		field.ID = f.Prefix + "-" + name
	}
	return field
}

func (f findingFormView) testID(name string) templ.Attributes {
	if f.Prefix == "" {
		return nil
	}
	return templ.Attributes{"data-testid": f.Prefix + "-" + name}
}

func (f findingFormView) withTestID(field view.Field) view.Field {
	for k, v := range f.testID(field.Name) {
		field = field.WithAttr(k, v)
	}
	return field
}

func (f findingView) severityMark() string { return view.When(f.Grave, "grave") }

// seen asks whether the customer sees the new photograph.
func (f findingFormView) seen() view.Field {
	return f.withTestID(f.field("customer_sees", "The customer sees the new photograph"))
}

// upload takes a photograph with the finding.
func (f findingFormView) upload() view.Field {
	field := f.withTestID(f.field("photos", "Or a new photograph").Maybe().WithHint("JPEG, PNG, WebP or GIF, 20 MB at " +
		"most. Where and when it was taken is removed."))
	field.Accept = "image/*"
	return field
}
