package message

var french = map[Topic]Template{
	EstimateReady: {
		Subject: "Le devis pour votre montre, dossier {docket}",
		Text: `Bonjour {customer},

Le devis pour votre {watch} (dossier {docket}) est prêt. Il s’élève à {total}.

Merci de le consulter et de l’accepter ou de le refuser avant la fin du {answer by} :
{link}

Ce lien est pour vous seul : quiconque l’a peut répondre en votre nom.

{own words}

{shop}
{telephone}`,
		Short: "{shop} : le devis pour votre {watch} s’élève à {total}. Merci de répondre avant la fin du {answer by} : {link}",
	},
	Approved: {
		Subject: "Votre accord sur le devis, dossier {docket}",
		Text: `Bonjour {customer},

Merci. Vous avez accepté le devis pour votre {watch} (dossier {docket}) : {total}.
La montre est promise pour le {promised day}.

Vous pouvez voir à tout moment où en est le travail :
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop} : merci. Vous avez accepté {total} pour votre {watch}, dossier {docket}.",
	},
	Question: {
		Subject: "Une question sur votre montre, dossier {docket}",
		Text: `Bonjour {customer},

Nous avons une question sur votre {watch} (dossier {docket}) :

{question}

Merci de répondre à ce message ou de nous appeler.

La page de votre montre :
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop} : une question sur votre {watch}, dossier {docket} : {question}",
	},
	Delayed: {
		Subject: "Un jour plus tardif pour votre montre, dossier {docket}",
		Text: `Bonjour {customer},

Le travail sur votre {watch} (dossier {docket}) dure plus longtemps que promis. Nous en sommes désolés.

Nouveau jour : {promised day}
Promis auparavant : {day before}

Vous pouvez voir à tout moment où en est le travail :
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop} : le travail sur votre {watch} dure plus longtemps que promis. Nouveau jour : {promised day}. Nous en sommes désolés. Dossier {docket}.",
	},
	Ready: {
		Subject: "Votre montre est prête, dossier {docket}",
		Text: `Bonjour {customer},

Votre {watch} (dossier {docket}) est prête. Vous pouvez venir la chercher.

Reste à payer : {still to pay}

Nous sommes ouverts :
{hours}

{address}

Merci d’apporter votre bon de dépôt.

Ce qui a été fait, et la facture, se trouvent sur la page de votre montre :
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop} : votre {watch} est prête. Reste à payer : {still to pay}. Merci d’apporter votre bon de dépôt. Dossier {docket}.",
	},
	SentByPost: {
		Subject: "Votre montre est en route, dossier {docket}",
		Text: `Bonjour {customer},

Votre {watch} (dossier {docket}) est en route vers vous par {carrier}, colis {parcel number}.

Merci d’examiner le colis avant de signer. S’il est abîmé, ou si quelque chose ne va pas avec la montre, dites-le aussitôt au transporteur et à nous.

La facture, et ce qui a été fait, se trouvent sur la page de votre montre :
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop} : votre {watch} est en route par {carrier}, colis {parcel number}. Dossier {docket}.",
	},
	NotCollected: {
		Subject: "Votre montre vous attend toujours, dossier {docket}",
		Text: `Bonjour {customer},

Votre {watch} (dossier {docket}) est prête depuis le {ready since} et nous la gardons toujours pour vous.

Reste à payer : {still to pay}

Nous sommes ouverts :
{hours}

{address}

Si vous ne pouvez pas venir, merci de nous dire comment vous souhaitez la recevoir.

{own words}

{shop}
{telephone}`,
		Short: "{shop} : votre {watch} est prête depuis le {ready since}. Merci de venir la chercher ou de nous dire comment vous souhaitez la recevoir. Dossier {docket}.",
	},
	WarrantyEnding: {
		Subject: "La garantie de votre montre se termine bientôt, dossier {docket}",
		Text: `Bonjour {customer},

La garantie de notre travail sur votre {watch} (dossier {docket}) se termine le {warranty until}.

Si quelque chose n’est pas comme il faut, merci d’apporter la montre avant ce jour.

Nous sommes ouverts :
{hours}

{own words}

{shop}
{telephone}`,
		Short: "{shop} : la garantie de notre travail sur votre {watch} se termine le {warranty until}. Si quelque chose ne va pas, merci de l’apporter avant.",
	},
	ServiceDue: {
		Subject: "Votre montre a peut-être besoin d’une révision, dossier {docket}",
		Text: `Bonjour {customer},

Nous avons révisé votre {watch} et l’avons remise le {serviced on}.
C’était il y a environ {years}. L’huile vieillit aussi dans une montre qui marche bien, et les pivots secs s’usent.

Si vous le souhaitez, apportez-la et nous l’examinerons.

Nous sommes ouverts :
{hours}

{own words}

{shop}
{telephone}`,
		Short: "{shop} : la révision de votre {watch} date d’environ {years}. Si vous le souhaitez, apportez-la et nous l’examinerons.",
	},
}
