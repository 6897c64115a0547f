package watch_test

import (
	"slices"
	"testing"

	"ledgerwheel/domain/watch"
)

func TestWithKeepsWhatWasNotTyped(t *testing.T) {
	t.Parallel()
	kept := watch.Watch{ID: 7, Maker: "Gannet", Model: "Harbourmaster", Serial: "1047", CalibreID: 3, CalibreName: "TQ 21",
		Lume: watch.LumeRadium, Winding: watch.WindingHand, CrownAt: watch.CrownAtTwelve, Strap: "none"}
	if got, want := kept.With(watch.Watch{}.Tidied()), kept.Tidied(); got != want {
		t.Errorf("nothing typed: %+v, want %+v", got, want)
	}
	typed := watch.Watch{Maker: "Gannet & Co", Reference: "HM-2", CalibreName: "TQ 22", Lume: watch.LumeNone,
		Winding: watch.WindingAutomatic, CrownAt: 4, WaterResistanceMarked: "5 bar", Notes: "engraved"}
	want := kept
	want.Maker, want.Reference, want.CalibreName, want.CalibreID = "Gannet & Co", "HM-2", "TQ 22", 0
	want.Lume, want.Winding, want.CrownAt = watch.LumeNone, watch.WindingAutomatic, 4
	want.WaterResistanceMarked, want.OverpressureBar, want.Notes = "5 bar", 5, "engraved"
	if got := kept.With(typed); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestSerialAgreementIsTheBestPair(t *testing.T) {
	t.Parallel()
	kept := watch.Watch{Serial: "1047", MovementSerial: "88I"}
	for _, tt := range []struct {
		other watch.Watch
		want  watch.SerialMatch
	}{
		{watch.Watch{MovementSerial: "10-47"}, watch.SerialSame},
		{watch.Watch{Serial: "881", MovementSerial: "9"}, watch.SerialLikely},
		{watch.Watch{Serial: "9"}, watch.SerialDiffers},
		{watch.Watch{}, watch.SerialDiffers},
	} {
		if got := kept.SerialAgreement(tt.other); got != tt.want {
			t.Errorf("%+v: %v, want %v", tt.other, got, tt.want)
		}
	}
	if got := (watch.Watch{Serial: " - ", MovementSerial: "o-1"}).SerialLikeKeys(); !slices.Equal(got, []string{"01"}) {
		t.Errorf("keys %q", got)
	}
}
