package service_test

import (
	"reflect"
	"slices"
	"testing"

	"ledgerwheel/domain/service"
)

func TestTimeOfSingleSteps(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		form service.Form
		want []string
	}{
		{"timed", service.Form{Steps: []string{"clean"}, StepMinutes: map[string]string{"clean": "0:25", "inspect": " "}},
			nil},
		{"not ticked", service.Form{Steps: []string{"clean"}, StepMinutes: map[string]string{"inspect": "5"}},
			[]string{"minutes.inspect"}},
		{"in words", service.Form{Steps: []string{"clean"}, StepMinutes: map[string]string{"clean": "long"}},
			[]string{"minutes.clean"}},
		{"together more than a day's work", service.Form{Steps: []string{"clean"}, Minutes: "6:00",
			StepMinutes: map[string]string{"clean": "6:01"}}, []string{"minutes"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if _, bad := tt.form.Check(); !slices.Equal(fields(bad), tt.want) {
				t.Errorf("problems with %v, want %v", fields(bad), tt.want)
			}
		})
	}
}

func TestFormRoundTrip(t *testing.T) {
	t.Parallel()
	want := service.Work{
		Steps: []service.Step{service.StepClean, service.StepInspect}, StepMinutes: map[service.Step]int{
			service.StepClean: 25},
		Lubricants: []service.Lubricant{{Place: service.TrainPivots, Kind: "medium oil"}}, Minutes: 90, Note: "Rinsed twice.",
	}
	if want.TotalMinutes() != 115 {
		t.Errorf("%d minutes in all, want 25 + 90", want.TotalMinutes())
	}
	got, bad := want.Form().Check()
	if len(bad) > 0 || !reflect.DeepEqual(got, want) {
		t.Errorf("read back %+v, %v; want %+v", got, bad, want)
	}
	if sum := service.Summarise([]service.Work{want, {Minutes: 5}}); sum.Minutes != 120 {
		t.Errorf("%d minutes in the summary, want 120", sum.Minutes)
	}
}
