package store

import "strconv"

// newestDockets are the latest of a customer's or watch's dockets, as three arrays.
func newestDockets(column, id string) string {
	return `LEFT JOIN LATERAL (SELECT array_agg(t.number ORDER BY t.id DESC) AS numbers, array_agg(t.stage ORDER BY t.id DESC) AS stages,
			array_agg(t.open ORDER BY t.id DESC) AS opens
		FROM (SELECT id, number, stage, open FROM docket WHERE ` + column + ` = ` + id + ` ORDER BY id DESC LIMIT 3) t) n ON true `
}

// The hits of a page are picked in the order of an index, from $1 up to but without $4; $2 is the id after which
// the page begins among those whose key is $1 itself, and $3 is how many rows are wanted.
const (
	hitOrder   = ` ORDER BY h.key USING ~<~, h.id`
	phonesHits = `SELECT id, reverse(phone_e164) AS key FROM customer WHERE phone_e164 <> ''
		AND reverse(phone_e164) ~>=~ $1 AND reverse(phone_e164) ~<~ $4 AND (reverse(phone_e164) ~>~ $1 OR id > $2)
		ORDER BY reverse(phone_e164) USING ~<~, id LIMIT $3`
	emailsHits = `SELECT id, email_key AS key FROM customer WHERE email_key <> ''
		AND email_key ~>=~ $1 AND email_key ~<~ $4 AND (email_key ~>~ $1 OR id > $2) ORDER BY email_key USING ~<~, id LIMIT $3`
	serialsHits = `SELECT id, min(key) AS key FROM (
		(SELECT id, serial_key AS key FROM watch WHERE serial_key <> ''
			AND serial_key ~>=~ $1 AND serial_key ~<~ $4 AND (serial_key ~>~ $1 OR id > $2) ORDER BY serial_key USING ~<~, id LIMIT $3)
		UNION
		(SELECT id, movement_serial_key FROM watch WHERE movement_serial_key <> ''
			AND movement_serial_key ~>=~ $1 AND movement_serial_key ~<~ $4 AND (movement_serial_key ~>~ $1 OR id > $2)
			ORDER BY movement_serial_key USING ~<~, id LIMIT $3)) s GROUP BY id ORDER BY min(key) USING ~<~, id LIMIT $3`
)

// wordsLooked is how many rows that have the rarest word of a text are looked at for the others. Where all words are
// common and stand seldom together, a page may hold few rows or none and still have a next one.
const wordsLooked = 2000

// rarestWord is the range, of those from $4 to $5, that the fewest rows fall into. How rare it is need not be known
// beyond the number of rows looked at.
func rarestWord(table string) string {
	return `WITH rarest AS MATERIALIZED (SELECT lo, hi FROM unnest($4::text[] COLLATE "C", $5::text[] COLLATE "C") AS q (lo, hi)
		ORDER BY CASE WHEN cardinality($4) > 1
			THEN (SELECT count(*) FROM (SELECT FROM ` + table + ` WHERE word >= lo AND word < hi LIMIT ` + strconv.Itoa(wordsLooked) + `) n) END, lo LIMIT 1)`
}

// wordsInOrder are the rows looked at, after the row that $1 and $2 name.
func wordsInOrder(table, id string) string {
	return `SELECT word AS key, ` + id + ` AS id FROM ` + table + `
		WHERE word >= greatest(r.lo, $1) AND word < r.hi AND (word > $1 OR ` + id + ` > $2)
		ORDER BY word, ` + id + ` LIMIT ` + strconv.Itoa(wordsLooked)
}

// wordHits picks, of the rows looked at, the first $3 that have a word in each of the ranges. One that has several
// words of the rarest range counts by the first of them.
func wordHits(table, id string) string {
	return rarestWord(table) + `, h AS MATERIALIZED (SELECT s.id, s.key FROM rarest r, LATERAL (
		SELECT x.id, x.key FROM (` + wordsInOrder(table, id) + `) x
		WHERE x.key = (SELECT min(y.word) FROM ` + table + ` y WHERE y.` + id + ` = x.id AND y.word >= r.lo)
		AND (SELECT count(*) FROM unnest($4, $5) AS q (lo, hi)
			WHERE EXISTS (SELECT FROM ` + table + ` y WHERE y.` + id + ` = x.id AND y.word >= q.lo AND y.word < q.hi)) = cardinality($4)
		ORDER BY x.key, x.id LIMIT $3) s)`
}

// lastLooked is the last row looked at, when there were as many as are looked at.
func lastLooked(table, id string) string {
	return rarestWord(table) + ` SELECT s.key, s.id FROM rarest r, LATERAL (` + wordsInOrder(table, id) + `) s
		WHERE $3 > 0 ORDER BY s.key, s.id OFFSET ` + strconv.Itoa(wordsLooked-1)
}

func hitsOf(sql string) string { return `WITH h AS MATERIALIZED (` + sql + `)` }

func customersSQL(hits string) string {
	return hits + ` SELECT ` + customerFields + `, h.key, h.id, n.numbers, n.stages, n.opens
		FROM h ` + hitCustomer + ` ` + newestDockets("customer_id", "c.id") + hitOrder
}

func watchesFoundSQL(hits string) string {
	return hits + ` SELECT ` + watchFields + `, w.customer_id, c.name, h.key, n.numbers, n.stages, n.opens
		FROM h JOIN watch w ON w.id = h.id JOIN customer c ON c.id = w.customer_id ` + newestDockets("watch_id", "w.id") + hitOrder
}

var (
	phonesSQL  = customersSQL(hitsOf(phonesHits))
	emailsSQL  = customersSQL(hitsOf(emailsHits))
	namesSQL   = customersSQL(wordHits("customer_word", "customer_id"))
	serialsSQL = watchesFoundSQL(hitsOf(serialsHits))
	watchesSQL = watchesFoundSQL(wordHits("watch_word", "watch_id"))

	lastNameSQL  = lastLooked("customer_word", "customer_id")
	lastWatchSQL = lastLooked("watch_word", "watch_id")
)
