package store

import (
	"fmt"
	"strings"
)

// relation is a table of evidence: its trigger record_written declares every row that is written, and the record check
// holds each of its rows against the newest entry that declares it.
type relation struct {
	name string
	key  string // primary key's columns, parted by commas
	// without are columns that say nothing: what the journal proves by itself, and secrets that move.
	without string
	// docket says whose row it is: "" is the shop's, "docket_id" the docket's that this column names, else "table column":
	// that of the row of the table that the column names.
	docket string
	words  string // what a row is, in a sentence
}

// evidence is every table of which a claim could hang. TestEveryTableIsEvidenceOrExempt holds it against the schema.
var evidence = []relation{
	{"docket", "id", "version,head_hash", "id", "the docket's own row (stage, place, what was taken in and agreed)"},
	{"condition_mark", "id", "", "docket_id", "a mark of the watch's condition"},
	{"condition_earlier", "docket_id,until_seq", "", "docket_id", "an earlier note of the watch's condition"},
	{"photo", "id", "cleared_at", "docket_id", "a photograph"},
	{"hazard", "docket_id,hazard", "", "docket_id", "a hazard"},
	{"comeback", "docket_id", "", "docket_id", "what was said of a comeback"},
	{"finding", "id", "", "docket_id", "a finding"},
	{"estimate_revision", "id", "", "docket_id", "an estimate"},
	{"estimate_line", "revision_id,ordinal", "", "estimate_revision revision_id", "a line of an estimate"},
	{"part_line", "id", "", "docket_id", "a part"},
	{"part_line_earlier", "part_id,until_seq", "", "part_line part_id", "an earlier form of a part"},
	{"bench_work", "id", "", "docket_id", "work at the bench"},
	{"service_step", "id", "", "docket_id", "a step of service"},
	{"lubricant_use", "id", "", "docket_id", "a use of a lubricant"},
	{"run", "id", "", "docket_id", "a run"},
	{"run_change", "run_id,version", "", "run run_id", "a correction of a run"},
	{"reading", "run_id,position,hours,again", "", "run run_id", "a reading of a run"},
	{"heard", "id", "", "docket_id", "a reading that was heard"},
	{"final_test", "id", "", "docket_id", "a final test"},
	{"trial", "id", "", "docket_id", "a chronometer trial"},
	{"trial_day", "trial_id,day,version", "", "trial trial_id", "a day of a chronometer trial"},
	{"poising_round", "id", "", "docket_id", "a round of poising"},
	{"poising_reading", "round_id,up_deg", "", "poising_round round_id", "a reading of poising"},
	{"promise_proposed", "docket_id", "", "docket_id", "the day that was proposed"},
	{"customer_link", "id", "", "docket_id", "a customer's link"},
	{"message", "id", "", "docket_id", "a message to the customer"},
	{"contact", "id", "", "docket_id", "a line of the log of calls and notes"},
	{"customer_question", "id", "", "docket_id", "a customer's question"},
	{"payment", "id", "", "docket_id", "a payment"},
	{"invoice", "id", "", "docket_id", "an issued invoice"},
	{"invoice_rate", "invoice_id,tax_basis_points", "", "invoice invoice_id", "what an issued invoice comes to at a rate of tax"},
	{"collect_notice", "id", "", "docket_id", "a letter to collect"},
	{"collect_block", "id", "", "docket_id", "what stands against a letter"},
	{"loan", "id", "", "docket_id", "a loan watch handed out"},
	{"parcel_out", "id", "", "docket_id", "a parcel that goes out"},
	{"warranty_card", "id", "", "docket_id", "a warranty card"},
	{"docket_sequence", "year", "", "", "the numbers given in a year"},
	{"carrier", "id", "", "", "the terms of a carrier"},
	{"access_token", "id", "", "", "an access token of another program"},
	{"parcel_in", "id", "", "", "a parcel that came"},
	{"parcel_photo", "id", "cleared_at", "", "a photograph of a parcel"},
	{"loan_watch", "id", "", "", "a loan watch"},
	{"insurer_limit", "id", "", "", "the limits of the insurer"},
	{"holiday", "id", "", "", "a holiday"},
	{"supplier", "id", "", "", "a supplier"},
	{"part", "id", "", "", "a part of the catalogue"},
	{"part_source", "part_id,ordinal", "", "", "a supplier's number of a part"},
	{"lot", "id", "", "", "a lot of a part"},
	{"invoice_series", "id", "", "", "a series of invoice numbers"},
	{"stock_move", "id", "", "", "a move of stock"},
	{"till_move", "id", "", "", "a move of the till's cash"},
	{"till_close", "id", "", "", "a closed day of the till"},
	{"book_account", "account", "", "", "an account of the books"},
	{"stocktake", "id", "", "", "a stocktake"},
	{"stocktake_count", "stocktake_id,part_id,lot_id", "", "", "what a stocktake counted"},
	{"purchase_order", "id", "", "", "an order"},
	{"order_line", "id", "", "", "a line of an order"},
	{"order_event", "id", "", "", "what happened to an order"},
	{"job", "id", "", "", "a job of the price list"},
	{"job_price", "job_id,from_day", "", "", "a price of the price list"},
	{"job_part", "job_id,ordinal", "", "", "a usual part of the price list"},
	{"visit", "id", "", "", "a visit"},
	{"customer", "id", "", "", "a customer"},
	{"customer_merge", "id", "", "", "a line about merged customers"},
	{"customer_erasure", "id", "", "", "a line about an erased customer"},
	{"journal_told", "docket_id,seq", "", "", "how an entry of a journal is shown"},
	{"watch", "id", "", "", "a watch"},
	{"watch_list", "id", "", "", "an entry of the watch list"},
	{"staff", "id", "", "", "a person of the shop"},
	{"staff_event", "id", "", "", "a line of the people's history"},
	{"invite", "token_hash", "", "", "an invitation"},
	{"shop", "id", "", "", "the settings"},
	{"shop_version", "id", "", "", "the settings as they stood"},
	{"logo", "name", "", "", "a picture of the shop's logo"},
	{"message_template", "id", "", "", "the words of a message"},
	{"message_reminders", "id", "", "", "what customers are told when its day comes"},
	{"place_profile", "id", "", "", "a profile of the place"},
	{"rate_limits", "id", "", "", "a version of the rate limits"},
	{"calibre", "id", "", "", "a calibre"},
	{"calibre_change", "calibre_id,version", "", "", "a line of a calibre's history"},
	{"calibre_drawing", "id", "", "", "a drawing of a calibre"},
	{"recorder", "id", "", "", "a recorder"},
	{"recorder_calibration", "id", "", "", "a recorder's calibration"},
	{"recorder_calibration_retired", "calibration_id", "", "", "the end of a recorder's calibration"},
	{"recorder_history", "id", "", "", "a line of a recorder's history"},
	{"signing_key", "id", "seed", "", "a key that cards are signed with"},
	{"mail_settings", "id", "", "", "the settings of mail"},
}

// exempt is every table that is no evidence, and why.
var exempt = map[string]string{
	"journal":             "proved by its own chain, its marks and the log",
	"shop_journal":        "proved by its own chain, its marks and the log",
	"shop_head":           "proved by the shop's journal, which ends there",
	"record_base":         "its sum is in the journal's entry that brought the record in",
	"record_unentered":    "empty but while the program starts",
	"log_pending":         "held against the journal by the record check",
	"log_leaf":            "held against the journal and the seals by the record check",
	"log_hash":            "worked out from the leaves and held against them",
	"seal":                "signed",
	"seal_key":            "public keys; the data folder has them too",
	"backup_run":          "what became of backups; they prove themselves",
	"record_check":        "what record checks found, for the owner for 400 days; each can be made again",
	"recording":           "a sound sent in that waits to be kept or thrown away; what is kept is heard",
	"customer_word":       "made from customers by a trigger, for finding",
	"part_word":           "made from parts by triggers, for finding",
	"watch_word":          "made from watches by a trigger, for finding",
	"find_slip":           "made of the words for finding",
	"sent_once":           "what was sent in the last two days, so that nothing is done twice",
	"kept_form":           "what somebody typed before their session ended, for a day",
	"staff_recovery_code": "by what a person signs in; what becomes of it stands in access_event",
	"staff_passkey":       "by what a person signs in; what becomes of it stands in access_event",
	"staff_app":           "by what a person signs in; what becomes of it stands in access_event",
	"staff_session":       "who is signed in now, and where",
	"access_token_use":    "when a token was last used, for the owner",
	"run_sent":            "which sending of another program a run is of; the run is evidence itself",
	"access_event":        "who signed in and who was refused, for the owner; old ones are cleared away",
	"sessions":            "who is signed in now",
	"goose_db_version":    "which migrations were made",
	"seal_mail":           "how far mailing the day's seal has come; what became of it stands in the shop's journal, and a seal is signed",
	"invoice_number":      "worked out from the invoices, in the transaction of each",
	"stock":               "worked out from the moves of stock, in the transaction of each",
	"stock_lot":           "worked out from the moves of stock, in the transaction of each",
	"stock_held":          "worked out from the moves of stock, in the transaction of each",
	"docket_owed":         "worked out from invoices and payments, in the transaction of each",
	"order_now":           "worked out from what happened to orders, in the transaction of each",
	"order_line_now":      "worked out from what happened to orders, in the transaction of each",
	"stay":                "worked out from the docket's moves, in the transaction of each; figures_again makes them from the journal",
	"outcome":             "worked out from the record, soon after each change",
	"promise_now":         "worked out from the record, when any docket moves and every day",
	"outcome_due":         "which dockets wait to be worked out",
	"cell":                "worked out from the outcomes, in the transaction of each",
	"order_mail":          "how far mailing an order has come; what became of it stands in the shop's journal",
	"message_delivery":    "how far handing a mail to the mail server has come; what became of it stands in message",
	"river_job":           "messages on their way; what became of them stands in message",
	"river_leader":        "which copy of the program looks after the jobs",
	"river_queue":         "that jobs are worked",
	"river_migration":     "which migrations of the jobs' tables were made",
	"river_notification":  "calls from copy to copy of the program that jobs wait",
}

// EvidenceTables names every table of evidence.
func EvidenceTables() []string {
	var names []string
	for _, r := range evidence {
		names = append(names, r.name)
	}
	return names
}

// relationOf finds a relation by its name.
func relationOf(name string) (relation, bool) {
	for _, r := range evidence {
		if r.name == name {
			return r, true
		}
	}
	return relation{}, false
}

// keySQL writes the primary key of row evident as the trigger does.
func (r relation) keySQL() string {
	var parts []string
	for _, column := range strings.Split(r.key, ",") {
		parts = append(parts, "(pg_catalog.to_jsonb(evident."+column+") #>> '{}')")
	}
	return "pg_catalog.replace(" + strings.Join(parts, ` || '/' || `) + ", ' ', '_')"
}

// digestSQL works out the digest of row evident as the trigger does, from the database's own functions alone: a function
// made in the database could be made to lie.
func (r relation) digestSQL() string {
	return fmt.Sprintf(`pg_catalog.sha256(pg_catalog.convert_to(pg_catalog.jsonb_strip_nulls(pg_catalog.to_jsonb(evident) - '{%s}'::text[])::text, 'UTF8'))`,
		r.without)
}

// rowsSQL selects docket, key and digest of every row of the dockets $1 to $2; of a relation that is the shop's, of
// every row.
func (r relation) rowsSQL() string {
	switch table, column, child := strings.Cut(r.docket, " "); {
	case r.docket == "":
		return fmt.Sprintf(`SELECT 0::bigint, %s, %s FROM %s evident`, r.keySQL(), r.digestSQL(), r.name)
	case child:
		return fmt.Sprintf(`SELECT p.docket_id, %s, %s FROM %s evident JOIN %s p ON p.id = evident.%s WHERE p.docket_id BETWEEN $1 AND $2`,
			r.keySQL(), r.digestSQL(), r.name, table, column)
	default:
		return fmt.Sprintf(`SELECT evident.%s, %s, %s FROM %s evident WHERE evident.%[1]s BETWEEN $1 AND $2`, r.docket, r.keySQL(), r.digestSQL(), r.name)
	}
}
