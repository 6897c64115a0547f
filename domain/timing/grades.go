package timing

import "ledgerwheel/domain/metrology"

// The keys of the grades shipped with the program.
const (
	GradeChronometer  = "chronometer-style"
	GradeModern       = "modern"
	GradeVintage      = "vintage"
	GradeSmallCalibre = "small-calibre"
)

// knocking is the reason shared by the upper limits on amplitude.
const knocking = "Near 330° the impulse pin meets the back of the fork and the watch gains wildly (knocking); the limit " +
	"keeps clear of it on a fresh mainspring."

// ShippedGrades returns the rate limits a new shop starts with. They are invented for this program as a shop's own
// starting point, from common bench practice as remembered; only the mean of the chronometer-style grade is a
// published figure. They are no standard, and a run that passes them is no certified chronometer.
func ShippedGrades() []RateLimits {
	return []RateLimits{chronometerGrade(), modernGrade(), vintageGrade(), smallCalibreGrade()}
}

func chronometerGrade() RateLimits {
	return RateLimits{
		Grade: GradeChronometer, Name: "Chronometer style", Version: 1,
		Reasons: "The shop's own limits for adjusted calibres of 20 mm and over in good order. They follow the spirit of " +
			"ISO 3159 but not its fifteen-day programme: passing them makes no chronometer.",
		Limits: []Limit{
			{MeanRate, metrology.Between(-4, 6),
				"The mean daily rate ISO 3159 allows a movement of 20 mm and over; here over six positions at full wind."},
			{DeltaRate, metrology.AtMost(10),
				"The shop's own: an adjusted watch in good order keeps its six positions within ten seconds."},
			{HorizontalLessVertical, metrology.Between(-6, 6),
				"The shop's own: a larger step between lying and hanging points to pivots, poise or the regulator pins."},
			{GreatestBeatError, metrology.AtMost(0.3),
				"Common practice: on an adjusted watch the beat is set as close as the stud or its carrier allows."},
			{LeastHorizontalAmplitude, metrology.AtLeast(270),
				"Common practice: about one and a half turns of swing, full to full, shows a clean train and a good spring."},
			{GreatestAmplitude, metrology.AtMost(320), knocking},
			{LeastVerticalAmplitude, metrology.AtLeast(220),
				"Common practice: about 220° is where faults of poise show least, and an adjusted watch still swings so after a day."},
			{Isochronism, metrology.Between(-5, 5),
				"The shop's own: the rate a wearer sees on the second morning should be the rate of the first."},
		},
	}
}

func modernGrade() RateLimits {
	return RateLimits{
		Grade: GradeModern, Name: "Modern", Version: 1,
		Reasons: "The shop's own limits for modern calibres without special adjustment, serviced with sound parts. Set a little " +
			"to the gaining side, since owners forgive a fast watch sooner than a slow one.",
		Limits: []Limit{
			{MeanRate, metrology.Between(-3, 12),
				"The shop's own: from slightly slow to a quarter of a minute a day leaves room for wear on the wrist."},
			{DeltaRate, metrology.AtMost(20),
				"Common practice for a plain modern calibre in six positions."},
			{HorizontalLessVertical, metrology.Between(-12, 12),
				"The shop's own: more points to worn pivots or a hairspring out of flat or centre."},
			{GreatestBeatError, metrology.AtMost(0.6),
				"Common practice: below this a modern watch starts by itself from rest and loses nothing that can be measured."},
			{LeastHorizontalAmplitude, metrology.AtLeast(260),
				"Common practice: less on a fresh service means dirt, friction or a tired mainspring."},
			{GreatestAmplitude, metrology.AtMost(320), knocking},
			{LeastVerticalAmplitude, metrology.AtLeast(200),
				"Common practice: below about 200° after a day the rate begins to wander with every position."},
			{Isochronism, metrology.Between(-10, 10),
				"The shop's own: a larger change over the first day shows in daily wear."},
		},
	}
}

func vintageGrade() RateLimits {
	return RateLimits{
		Grade: GradeVintage, Name: "Vintage", Version: 1,
		Reasons: "The shop's own limits for old watches, pocket watches among them, with worn but sound parts, often with a cut " +
			"balance and a plain steel hairspring. They ask for a watch to be enjoyed, not for what it did when new.",
		Limits: []Limit{
			{MeanRate, metrology.Between(-15, 25),
				"The shop's own: brought to time as well as the regulator and the balance screws allow without altering old parts."},
			{DeltaRate, metrology.AtMost(40),
				"The shop's own: worn pivots and old poise faults are kept within reason, not chased with a file."},
			{HorizontalLessVertical, metrology.Between(-25, 25),
				"The shop's own: flattened pivot ends and worn holes part the lying from the hanging rates."},
			{GreatestBeatError, metrology.AtMost(1.5),
				"The shop's own: with a fixed stud the collet must be turned on the staff, and each turning risks the hairspring."},
			{LeastHorizontalAmplitude, metrology.AtLeast(220),
				"Common practice: about 220° is enough for an old train, and faults of poise then show least."},
			{GreatestAmplitude, metrology.AtMost(320), knocking},
			{LeastVerticalAmplitude, metrology.AtLeast(170),
				"The shop's own: just under one turn of swing is where an old steel mainspring leaves it after a day."},
			{Isochronism, metrology.Between(-25, 25),
				"The shop's own: old springs and flat hairsprings change more over the day."},
		},
	}
}

func smallCalibreGrade() RateLimits {
	return RateLimits{
		Grade: GradeSmallCalibre, Name: "Small calibre", Version: 1,
		Reasons: "The shop's own limits for calibres under 20 mm, such as ladies' and baguette movements. Their small " +
			"balances hold " +
			"little energy, so friction, oil and beat weigh more than in a large watch.",
		Limits: []Limit{
			{MeanRate, metrology.Between(-8, 20),
				"The shop's own: the regulator of a small watch cannot be set as finely as that of a large one."},
			{DeltaRate, metrology.AtMost(35),
				"The shop's own: a small balance feels each fault of poise and pivot more."},
			{HorizontalLessVertical, metrology.Between(-20, 20),
				"The shop's own: pivots are thick against the balance's energy, so hanging friction tells."},
			{GreatestBeatError, metrology.AtMost(0.8),
				"Common practice for small watches: the collet is hard to turn by less."},
			{LeastHorizontalAmplitude, metrology.AtLeast(230),
				"The shop's own: small trains seldom reach the swing of large ones."},
			{GreatestAmplitude, metrology.AtMost(315), knocking},
			{LeastVerticalAmplitude, metrology.AtLeast(180),
				"The shop's own: half a turn each side after a day keeps the watch going through the night on the table."},
			{Isochronism, metrology.Between(-20, 20),
				"The shop's own: short reserves fall faster over the day."},
		},
	}
}
