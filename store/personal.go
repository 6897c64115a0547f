package store

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// freeText are the columns of a docket's tables in which people write freely, where a customer's words may stand. An
// erasure replaces them there. TestEveryTextIsKnown holds this and wordless against the schema.
var freeText = map[string]string{
	"docket": "place_detail complaint order_number owner_reason collected_by old_parts charged_reason collected_identity rate_limits_why charged_word_by",

	"condition_mark": "note", "condition_earlier": "marks", "photo": "caption removed_why", "finding": "note", "comeback": "found cover_why",
	"estimate_revision": "note decided_name decided_note agreed_added", "estimate_line": "description",
	"order_line": "number description",
	"part_line":  "description reference supplier note payer_why", "part_line_earlier": "description reference supplier note",
	"bench_work": "note", "service_step": "note", "lubricant_use": "note place", "run": "note touched", "run_change": "why changes",
	"reading": "rate_asked amplitude_asked beat_error_asked", "heard": "facts recorder", "final_test": "results note",
	"trial": "reason", "trial_day": "note asked", "poising_round": "done why", "payment": "note", "warranty_card": "void_reason",
	"parcel_out": "contents radium_asked number proof", "loan": "out_state deposit_how kept_out_why back_state deposit_back",
	"recording": "file_name reason asked facts", "message": "why", "message_delivery": "said", "contact": "words",
	"invoice": "body", "collect_notice": "post_number", "collect_block": "words lifted_why", "customer_question": "words answer",
}

// personWhole are columns that say who came for the customer or how they were known, or were written to them: an erasure
// replaces all of it.
var personWhole = map[string]string{"docket": "collected_by collected_identity", "estimate_revision": "decided_name called_number",
	"message": "sent_to subject body html other_body", "contact": "spoke_to number",
	"collect_notice": "addressee body",
	"parcel_out":     "to_name to_firm street town region postcode consent_by"}

// ofTheProgram are the other columns of a docket's tables that hold text: words, codes and sums of the program, the names of
// instruments, who of the shop took a word, and what is signed: a card says nothing of whose the watch is. A new column is in none of the lists.
var ofTheProgram = map[string]string{
	"docket":            "number stage place head_hash wanted currency condition_clear collected_proof charged_word tongue",
	"condition_mark":    "part kind",
	"condition_earlier": "clear",
	"photo":             "about sha256",
	"finding":           "component fault severity",
	"comeback":          "cause cover",
	"hazard":            "hazard",
	"estimate_revision": "state currency decided_via tongue called_by",
	"estimate_line":     "kind",
	"part_line":         "state old_part payer",
	"part_line_earlier": "state old_part",
	"service_step":      "step",
	"lubricant_use":     "lubricant",
	"run":               "kind instrument outcome",
	"reading":           "position",
	"heard":             "position sound_sha256 sound_format result",
	"final_test":        "verdict",
	"trial":             "method instrument state verdict time_zone",
	"trial_day":         "position",
	"payment":           "currency method",
	"invoice":           "number kind currency",
	"parcel_out":        "state currency country cell consent_how",
	"recording":         "state result sound_sha256 sound_format",
	"message":           "topic occasion tongue way state mail_id",
	"contact":           "kind",
	"collect_notice":    "kind tongue title",
	"collect_block":     "kind",
	"warranty_card":     "code payload key_id signature proof tongue",
}

// wordless are tables that are no docket's, and why an erasure leaves their text alone.
var wordless = map[string]string{
	"journal.*":          "sealed: a word taken out would break the chain of hashes; what holds the person's words is shown without them",
	"shop_journal.*":     "sealed, as journal",
	"record_base.*":      "sums",
	"record_unentered.*": "sums",
	"log_pending.*":      "sums",
	"log_leaf.*":         "sums",
	"log_hash.*":         "sums",
	"seal.*":             "sums",
	"seal_key.*":         "public keys",
	"shop_head.*":        "sums",
	"journal_told.*":     "made without the person's words",

	"customer.*":         "written by the erasure itself",
	"customer_merge.*":   "written by the erasure itself",
	"customer_erasure.*": "the reason is written by the owner, who is told to name nobody",
	"customer_word.*":    "kept by a trigger, from the customer's row",
	"find_slip.*":        "kept by a trigger, from the words",
	"watch.*":            "written by the erasure itself: its notes",
	"watch_word.*":       "kept by a trigger: maker, model, reference",
	"watch_list.*":       "serials reported stolen: another duty, and no data of a customer's dealings",

	"calibre.*": "movements", "calibre_change.*": "movements", "calibre_drawing.*": "movements", "rate_limits.*": "the shop's limits",
	"recorder.*": "microphones", "recorder_calibration.*": "microphones", "recorder_calibration_retired.*": "microphones",
	"recorder_history.*": "microphones", "shop.*": "the shop's own", "shop_version.*": "the shop's own", "signing_key.*": "keys",
	"staff.*": "people who work here", "staff_app.*": "people who work here", "staff_event.*": "people who work here",
	"staff_passkey.*": "people who work here", "staff_recovery_code.*": "people who work here", "staff_session.*": "people who work here",
	"invite.*": "people who work here", "access_event.*": "who signed in", "access_token.*": "the shop's own", "run_sent.*": "sums", "backup_run.*": "backups", "record_check.*": "record checks",
	"kept_form.*":        "what holds the person's words is thrown away by the erasure",
	"message_template.*": "the shop's own", "place_profile.*": "the shop's own", "message_reminders.*": "the shop's own", "visit.*": "the shop's own",
	"carrier.*": "the shop's own", "holiday.*": "the shop's own", "insurer_limit.*": "the shop's own", "stocktake.*": "the shop's own", "stocktake_count.*": "why stock differs, by people who work here", "loan_watch.*": "the shop's own", "job.*": "the shop's own", "invoice_series.*": "the shop's own", "invoice_number.*": "numbers", "invoice_rate.*": "numbers", "supplier.*": "firms that the shop buys from", "part.*": "the shop's own", "part_word.*": "kept by triggers, from the part's row", "part_source.*": "the shop's own",
	"purchase_order.*": "firms that the shop buys from", "order_event.*": "what came instead, by people who work here", "order_now.*": "numbers", "docket_owed.*": "numbers", "order_mail.*": "the shop's own, to a firm",
	"lot.*": "the shop's own", "stock_move.*": "why stock was counted or written off, by people who work here", "stock.*": "numbers", "stock_lot.*": "numbers", "stock_held.*": "numbers", "book_account.*": "the shop's own", "till_move.*": "notes on the shop's own cash", "till_close.*": "reasons of the shop's own cash", "job_price.*": "the shop's own", "job_part.*": "the shop's own",
	"parcel_in.*": "written by the erasure itself, of parcels that a docket was made from", "parcel_photo.*": "sums; the pictures go with the erasure",
	"stay.*": "stages", "outcome.*": "words of the program and numbers", "cell.*": "words of the program and numbers",
	"mail_settings.*": "the shop's own", "logo.*": "the shop's own", "seal_mail.*": "sums, and an address of the shop's own",
	"river_job.*":    "numbers of messages, and what a mail server said of them in the last days; cleared away by the queue itself",
	"river_leader.*": "the program's own", "river_queue.*": "the program's own", "river_client.*": "the program's own",
	"river_client_queue.*": "the program's own", "river_migration.*": "the program's own", "river_notification.*": "the program's own",
	"sent_once.*": "sums and addresses, gone after two days",
	"sessions.*":  "who is signed in now, and the last sentence said to them; gone with the session",
}

// docketOf says how rows of a table belong to a docket, as relation.docket does, for tables that are no evidence too.
func docketOf(table string) string {
	switch table {
	case "recording":
		return "docket_id"
	case "order_line": // those of the drawers are no docket's
		return "docket_id"
	case "message_delivery":
		return "message message_id"
	}
	rel, _ := relationOf(table)
	return rel.docket
}

// rowsOfDocketSQL is the condition for rows of the table t that belong to the docket $1.
func rowsOfDocketSQL(table string) string {
	of := docketOf(table)
	if parent, column, child := strings.Cut(of, " "); child {
		return fmt.Sprintf(`t.%s IN (SELECT id FROM %s WHERE docket_id = $1)`, column, parent)
	}
	return "t." + of + " = $1"
}

// TextsKnown says what an erasure does with a column that holds text: replaced, or why not; "" for a column that nobody
// thought of.
func TextsKnown(table, column string) string {
	for _, c := range strings.Fields(freeText[table] + " " + personWhole[table]) {
		if c == column {
			return "replaced"
		}
	}
	for _, c := range strings.Fields(ofTheProgram[table]) {
		if c == column {
			return "words, codes or sums of the program"
		}
	}
	return wordless[table+".*"]
}

// RowsOfDockets is the condition for rows of the table t that belong to the dockets of customer $1; "" for a table that
// is no docket's.
func RowsOfDockets(table string) string {
	const dockets = `(SELECT id FROM docket WHERE customer_id = $1)`
	of := docketOf(table)
	if parent, column, child := strings.Cut(of, " "); child {
		return fmt.Sprintf(`t.%s IN (SELECT id FROM %s WHERE docket_id IN %s)`, column, parent, dockets)
	}
	if of == "" {
		return ""
	}
	return "t." + of + " IN " + dockets
}

// personalTables are the tables of a docket in whose text an erasure replaces words.
func personalTables() []string {
	names := slices.Collect(maps.Keys(freeText))
	for name := range personWhole {
		if freeText[name] == "" {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}
