package message

var german = map[Topic]Template{
	EstimateReady: {
		Subject: "Der Kostenvoranschlag für Ihre Uhr, Auftrag {docket}",
		Text: `Guten Tag {customer},

der Kostenvoranschlag für Ihre {watch} (Auftrag {docket}) ist fertig. Er beträgt {total}.

Bitte sehen Sie ihn an und nehmen Sie ihn bis {answer by} an oder lehnen Sie ihn ab:
{link}

Der Link ist nur für Sie: Wer ihn hat, kann in Ihrem Namen antworten.

{own words}

{shop}
{telephone}`,
		Short: "{shop}: Der Kostenvoranschlag für Ihre {watch} beträgt {total}. Bitte antworten Sie bis {answer by}: {link}",
	},
	Approved: {
		Subject: "Ihre Zusage zum Kostenvoranschlag, Auftrag {docket}",
		Text: `Guten Tag {customer},

vielen Dank. Sie haben den Kostenvoranschlag für Ihre {watch} (Auftrag {docket}) angenommen: {total}.
Die Uhr ist auf den {promised day} versprochen.

Wie weit sie ist, sehen Sie jederzeit hier:
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: Vielen Dank. Sie haben {total} für Ihre {watch} angenommen, Auftrag {docket}.",
	},
	Question: {
		Subject: "Eine Frage zu Ihrer Uhr, Auftrag {docket}",
		Text: `Guten Tag {customer},

wir haben eine Frage zu Ihrer {watch} (Auftrag {docket}):

{question}

Bitte antworten Sie auf diese Nachricht oder rufen Sie uns an.

Die Seite Ihrer Uhr:
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: Eine Frage zu Ihrer {watch}, Auftrag {docket}: {question}",
	},
	Delayed: {
		Subject: "Ein späterer Tag für Ihre Uhr, Auftrag {docket}",
		Text: `Guten Tag {customer},

die Arbeit an Ihrer {watch} (Auftrag {docket}) dauert länger, als wir versprochen haben. Das tut uns leid.

Neuer Tag: {promised day}
Bisher versprochen: {day before}

Wie weit sie ist, sehen Sie jederzeit hier:
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: Die Arbeit an Ihrer {watch} dauert länger als versprochen. Neuer Tag: {promised day}. Das tut uns leid. Auftrag {docket}.",
	},
	Ready: {
		Subject: "Ihre Uhr ist fertig, Auftrag {docket}",
		Text: `Guten Tag {customer},

Ihre {watch} (Auftrag {docket}) ist fertig. Sie können sie abholen.

Noch zu zahlen: {still to pay}

Wir haben geöffnet:
{hours}

{address}

Bitte bringen Sie Ihren Abholschein mit.

Was gemacht wurde, und die Rechnung, finden Sie auf der Seite Ihrer Uhr:
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: Ihre {watch} ist fertig. Noch zu zahlen: {still to pay}. Bitte bringen Sie Ihren Abholschein mit. Auftrag {docket}.",
	},
	SentByPost: {
		Subject: "Ihre Uhr ist unterwegs, Auftrag {docket}",
		Text: `Guten Tag {customer},

Ihre {watch} (Auftrag {docket}) ist mit {carrier} zu Ihnen unterwegs, Sendung {parcel number}.

Bitte sehen Sie das Paket an, bevor Sie es quittieren. Ist es beschädigt, oder ist mit der Uhr etwas nicht in Ordnung, sagen Sie es gleich dem Zusteller und uns.

Die Rechnung, und was gemacht wurde, finden Sie auf der Seite Ihrer Uhr:
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: Ihre {watch} ist mit {carrier} unterwegs, Sendung {parcel number}. Auftrag {docket}.",
	},
	NotCollected: {
		Subject: "Ihre Uhr wartet noch auf Sie, Auftrag {docket}",
		Text: `Guten Tag {customer},

Ihre {watch} (Auftrag {docket}) ist seit dem {ready since} fertig, und wir bewahren sie noch für Sie auf.

Noch zu zahlen: {still to pay}

Wir haben geöffnet:
{hours}

{address}

Wenn Sie nicht kommen können, sagen Sie uns bitte, wie Sie die Uhr bekommen möchten.

{own words}

{shop}
{telephone}`,
		Short: "{shop}: Ihre {watch} ist seit dem {ready since} fertig. Bitte holen Sie sie ab oder sagen Sie uns, wie Sie sie bekommen möchten. Auftrag {docket}.",
	},
	WarrantyEnding: {
		Subject: "Die Garantie auf Ihre Uhr endet bald, Auftrag {docket}",
		Text: `Guten Tag {customer},

die Garantie auf unsere Arbeit an Ihrer {watch} (Auftrag {docket}) endet am {warranty until}.

Wenn etwas nicht so ist, wie es sein soll, bringen Sie die Uhr bitte vor diesem Tag.

Wir haben geöffnet:
{hours}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: Die Garantie auf unsere Arbeit an Ihrer {watch} endet am {warranty until}. Wenn etwas nicht stimmt, bringen Sie sie bitte vorher.",
	},
	ServiceDue: {
		Subject: "Ihre Uhr braucht vielleicht eine Revision, Auftrag {docket}",
		Text: `Guten Tag {customer},

wir haben Ihre {watch} revidiert und am {serviced on} übergeben.
Das ist etwa {years} her. Öl altert auch in einer Uhr, die gut läuft, und trockene Lager verschleißen.

Wenn Sie möchten, bringen Sie sie vorbei, und wir sehen sie uns an.

Wir haben geöffnet:
{hours}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: Die Revision Ihrer {watch} liegt etwa {years} zurück. Wenn Sie möchten, bringen Sie sie vorbei, und wir sehen sie uns an.",
	},
}
