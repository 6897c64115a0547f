package view

import "github.com/a-h/templ"

// DiagnosisView is the diagnosis sheet of a docket.
type DiagnosisView struct {
	Form        Form // the refused form, if one was
	Components  []ComponentView
	Struck      []FindingView
	Hazards     []HazardView
	MoreHazards []Option // those that can be added by hand
	AsReceived  AsReceivedView
	MayDiagnose bool
}

// ComponentView is a component with what was found on it and the form to note more.
type ComponentView struct {
	Slug, Name string
	Findings   []FindingView
	Form       FindingForm
	Open       bool // the form was refused and is shown again
}

// FindingView is a finding as shown.
type FindingView struct {
	ID                 string
	Component          string
	Fault, Note        string
	Severity           string // in words
	Grave              bool   // must be mended
	By, At             string
	StruckBy, StruckAt string
	Corrected          bool // another stands in its place
	Photo              *PhotoView
	CorrectURL         string // "" for those who may not
}

// FindingForm asks for a finding. Its fields are told apart from those of other components by Prefix.
type FindingForm struct {
	Prefix     string
	Form       Form
	Faults     []Option // usual ones, one of which may be chosen
	Severities []Option
	Photos     []Option
}

// HazardView is a hazard with its cautions, always in full.
type HazardView struct {
	Slug, Title    string
	Cautions       []string
	Defer          string
	AcknowledgedBy string // with the time; "" while nobody has
	AcknowledgeURL string // "" for those who may not
}

// AsReceivedView is the run before any work, in a few figures.
type AsReceivedView struct {
	Taken    string // when and by whom; "" when there is none
	Figures  []FigureView
	SheetURL string
}

// CorrectFindingView is the page of one finding.
type CorrectFindingView struct {
	Form      FindingForm
	Strike    Form
	Component string
	Said      FindingView
	Action    string
}

// field starts a field whose id no other component's form has.
func (f FindingForm) field(name, label string) Field {
	field := f.Form.Field(name, label)
	if f.Prefix != "" {
		field.ID = f.Prefix + "-" + name
	}
	return field
}

func (f FindingForm) testID(name string) templ.Attributes {
	if f.Prefix == "" {
		return nil
	}
	return templ.Attributes{"data-testid": f.Prefix + "-" + name}
}

func (f FindingForm) withTestID(field Field) Field {
	for k, v := range f.testID(field.Name) {
		field = field.WithAttr(k, v)
	}
	return field
}

func (f FindingView) severityMark() string { return when(f.Grave, "grave") }

// upload takes a photograph with the finding.
func (f FindingForm) upload() Field {
	field := f.withTestID(f.field("photos", "Or a new photograph").Maybe().WithHint("JPEG, PNG, WebP or GIF, 20 MB at most. Where and when it was taken is removed."))
	field.Accept = "image/*"
	return field
}
