package message

var english = map[Topic]Template{
	EstimateReady: {
		Subject: "The estimate for your watch, docket {docket}",
		Text: `Dear {customer},

The estimate for your {watch} (docket {docket}) is ready. It comes to {total}.

Please look at it and approve or decline it by {answer by}:
{link}

The link is yours alone: whoever has it can answer for you.

{own words}

{shop}
{telephone}`,
		Short: "{shop}: the estimate for your {watch} comes to {total}. Please answer by {answer by}: {link}",
	},
	Approved: {
		Subject: "Your approval of the estimate, docket {docket}",
		Text: `Dear {customer},

Thank you. You approved the estimate for your {watch} (docket {docket}): {total}.
The watch is promised for {promised day}.

Where it is in the shop you can see at any time here:
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: thank you. You approved {total} for your {watch}, docket {docket}.",
	},
	Question: {
		Subject: "A question about your watch, docket {docket}",
		Text: `Dear {customer},

We have a question about your {watch} (docket {docket}):

{question}

Please answer this message or call us.

Your watch’s page:
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: a question about your {watch}, docket {docket}: {question}",
	},
	Delayed: {
		Subject: "A later day for your watch, docket {docket}",
		Text: `Dear {customer},

The work on your {watch} (docket {docket}) takes longer than we promised. We are sorry.

New day: {promised day}
Promised before: {day before}

Where it is in the shop you can see at any time here:
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: your {watch} takes longer than we promised. The new day is {promised day}. We are sorry. Docket {docket}.",
	},
	Ready: {
		Subject: "Your watch is ready, docket {docket}",
		Text: `Dear {customer},

Your {watch} (docket {docket}) is ready. You can collect it now.

Still to pay: {still to pay}

We are open:
{hours}

{address}

Please bring your ticket.

What was done, and the invoice, you find on your watch’s page:
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: your {watch} is ready. Still to pay: {still to pay}. Please bring your ticket. Docket {docket}.",
	},
	SentByPost: {
		Subject: "Your watch is on its way, docket {docket}",
		Text: `Dear {customer},

Your {watch} (docket {docket}) is on its way to you by {carrier}, parcel {parcel number}.

Please look at the parcel before you sign for it. If it is damaged, or the watch is not as it should be, tell the carrier at once, and us.

The invoice and what was done you find on your watch’s page:
{link}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: your {watch} is on its way by {carrier}, parcel {parcel number}. Docket {docket}.",
	},
	NotCollected: {
		Subject: "Your watch still waits for you, docket {docket}",
		Text: `Dear {customer},

Your {watch} (docket {docket}) has been ready since {ready since}, and we still keep it for you.

Still to pay: {still to pay}

We are open:
{hours}

{address}

If you can’t come, please tell us how you would like to have it.

{own words}

{shop}
{telephone}`,
		Short: "{shop}: your {watch} has been ready since {ready since}. Please collect it, or tell us how you would like to have it. Docket {docket}.",
	},
	WarrantyEnding: {
		Subject: "The warranty on your watch ends soon, docket {docket}",
		Text: `Dear {customer},

The warranty on our work on your {watch} (docket {docket}) ends on {warranty until}.

If something is not as it should be, please bring the watch before that day.

We are open:
{hours}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: the warranty on our work on your {watch} ends on {warranty until}. If something is not right, please bring it before then.",
	},
	ServiceDue: {
		Subject: "Your watch may need a service, docket {docket}",
		Text: `Dear {customer},

We serviced your {watch} and handed it over on {serviced on}.
That was about {years} ago. Oil ages also in a watch that runs well, and dry bearings wear.

If you like, bring it and we look at it.

We are open:
{hours}

{own words}

{shop}
{telephone}`,
		Short: "{shop}: we serviced your {watch} about {years} ago. If you like, bring it and we look at it.",
	},
}
