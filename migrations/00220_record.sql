-- +goose Up
-- What proves the record: each entry of a journal declares the rows of evidence that its change wrote.

ALTER TABLE journal ADD COLUMN rows text, ADD COLUMN mark bytea;
COMMENT ON COLUMN journal.rows IS 'the rows written, a line each: relation, key, SHA-256 before and after; null in entries from before rows were declared';
COMMENT ON COLUMN journal.mark IS 'HMAC-SHA256 of the hash by a secret that is not in the database';

CREATE TABLE shop_journal (
    seq       bigint PRIMARY KEY CHECK (seq >= 1),
    at        timestamptz NOT NULL,
    by_kind   text NOT NULL CHECK (by_kind IN ('staff', 'customer', 'system')),
    by_id     bigint REFERENCES staff,
    by_name   text NOT NULL,
    kind      text NOT NULL CHECK (kind <> ''),
    summary   text NOT NULL CHECK (summary <> ''),
    why       text NOT NULL DEFAULT '',
    facts     bytea,
    rows      text NOT NULL,
    mark      bytea,
    prev_hash bytea NOT NULL CHECK (length(prev_hash) = 32),
    hash      bytea NOT NULL CHECK (length(hash) = 32)
);
COMMENT ON TABLE shop_journal IS 'the journal of what belongs to no docket; append-only and hash-chained as journal is';
CREATE TRIGGER shop_journal_no_change BEFORE UPDATE OR DELETE ON shop_journal
    FOR EACH ROW EXECUTE FUNCTION journal_append_only();
CREATE TRIGGER shop_journal_no_truncate BEFORE TRUNCATE ON shop_journal
    FOR EACH STATEMENT EXECUTE FUNCTION journal_append_only();

CREATE TABLE shop_head (
    id      boolean PRIMARY KEY DEFAULT true CHECK (id),
    seq     bigint NOT NULL,
    hash    bytea NOT NULL CHECK (length(hash) = 32)
);
INSERT INTO shop_head (seq, hash) VALUES (0, decode(repeat('00', 32), 'hex'));

CREATE TABLE record_base (
    docket_id bigint PRIMARY KEY,
    lines     text NOT NULL
);
COMMENT ON TABLE record_base IS 'the rows as they stood when the record was brought in: relation, key, - and SHA-256; docket 0 has the shop''s';

CREATE TABLE record_unentered (
    id    bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    lines text NOT NULL
);
COMMENT ON TABLE record_unentered IS 'rows that a migration wrote, until the program enters them in the shop''s journal';

CREATE TABLE log_pending (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL,
    seq       bigint NOT NULL,
    hash      bytea NOT NULL CHECK (length(hash) = 32)
);
COMMENT ON TABLE log_pending IS 'entries that the log does not have yet; written with each entry, so that none is passed over';

CREATE TABLE log_leaf (
    leaf      bigint PRIMARY KEY CHECK (leaf >= 0),
    docket_id bigint NOT NULL,
    seq       bigint NOT NULL,
    hash      bytea NOT NULL CHECK (length(hash) = 32),
    UNIQUE (docket_id, seq)
);
COMMENT ON TABLE log_leaf IS 'the append-only Merkle log (RFC 6962) over all journal entries; docket 0 is the shop''s journal';
CREATE TRIGGER log_leaf_no_change BEFORE UPDATE OR DELETE ON log_leaf
    FOR EACH ROW EXECUTE FUNCTION journal_append_only();
CREATE TRIGGER log_leaf_no_truncate BEFORE TRUNCATE ON log_leaf
    FOR EACH STATEMENT EXECUTE FUNCTION journal_append_only();

CREATE TABLE log_hash (
    idx  bigint PRIMARY KEY CHECK (idx >= 0),
    hash bytea NOT NULL CHECK (length(hash) = 32)
);
COMMENT ON TABLE log_hash IS 'hashes of the log''s whole subtrees above the leaves, in the order in which they become whole';

CREATE TABLE seal_key (
    verifier   text PRIMARY KEY,
    made_at    timestamptz NOT NULL,
    retired_at timestamptz
);
COMMENT ON TABLE seal_key IS 'public keys of the seals, in the encoding of signed notes; none is ever forgotten';

CREATE TABLE seal (
    size    bigint NOT NULL,
    made_at timestamptz NOT NULL,
    note    text NOT NULL,
    PRIMARY KEY (made_at, size)
);
COMMENT ON TABLE seal IS 'signed checkpoints of the log; size is how many entries it had';

-- +goose StatementBegin
CREATE FUNCTION record_written() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    noted   text := coalesce(current_setting('ledgerwheel.written', true), '');
    without text[] := ('{' || TG_ARGV[1] || '}')::text[];
    before  jsonb;
    after   jsonb;
    was     text := '-';
    is_now  text := '-';
    key     text;
BEGIN
    -- So many rows at once are no change that the program makes: what was noted is given up, and no entry can declare it.
    IF length(noted) > 400000 OR noted = 'too many' THEN
        IF noted <> 'too many' THEN
            PERFORM set_config('ledgerwheel.written', 'too many', true);
        END IF;
        RETURN NULL;
    END IF;
    IF TG_OP <> 'INSERT' THEN
        before := to_jsonb(OLD) - without;
    END IF;
    IF TG_OP <> 'DELETE' THEN
        after := to_jsonb(NEW) - without;
    END IF;
    IF before = after THEN
        RETURN NULL;
    END IF;
    IF before IS NOT NULL THEN
        was := translate(rtrim(encode(sha256(convert_to(jsonb_strip_nulls(before)::text, 'UTF8')), 'base64'), '='), '+/', '-_');
    END IF;
    IF after IS NOT NULL THEN
        is_now := translate(rtrim(encode(sha256(convert_to(jsonb_strip_nulls(after)::text, 'UTF8')), 'base64'), '='), '+/', '-_');
    END IF;
    key := coalesce(after, before) ->> split_part(TG_ARGV[0], ',', 1);
    IF position(',' IN TG_ARGV[0]) > 0 THEN
        SELECT string_agg(coalesce(after, before) ->> k, '/' ORDER BY n) INTO key
            FROM unnest(string_to_array(TG_ARGV[0], ',')) WITH ORDINALITY AS u(k, n);
    END IF;
    PERFORM set_config('ledgerwheel.written', noted || TG_TABLE_NAME || ' ' || replace(key, ' ', '_') || ' ' || was || ' ' || is_now || chr(10), true);
    RETURN NULL;
END $$;
-- +goose StatementEnd
COMMENT ON FUNCTION record_written() IS 'notes for the transaction which row of evidence was written, for the journal entry that declares it; arguments: key columns, columns left out';

CREATE TRIGGER record_written AFTER INSERT OR DELETE ON docket FOR EACH ROW EXECUTE FUNCTION record_written('id', 'version,head_hash');
-- Every change moves the end of the journal in the docket's row, which says nothing: only other columns are looked at. A
-- migration that adds a column to docket makes this trigger again in the same way.
-- +goose StatementBegin
DO $$
BEGIN
    EXECUTE format('CREATE TRIGGER record_written_update AFTER UPDATE OF %s ON docket FOR EACH ROW EXECUTE FUNCTION record_written(%L, %L)',
        (SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) FROM pg_attribute WHERE attrelid = 'docket'::regclass
            AND attnum > 0 AND NOT attisdropped AND attgenerated = '' AND attname NOT IN ('version', 'head_hash')), 'id', 'version,head_hash');
END $$;
-- +goose StatementEnd
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON condition_mark FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON condition_earlier FOR EACH ROW EXECUTE FUNCTION record_written('docket_id,until_seq', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON photo FOR EACH ROW EXECUTE FUNCTION record_written('id', 'cleared_at');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON hazard FOR EACH ROW EXECUTE FUNCTION record_written('docket_id,hazard', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON finding FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON estimate_revision FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON estimate_line FOR EACH ROW EXECUTE FUNCTION record_written('revision_id,ordinal', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON part_line FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON part_line_earlier FOR EACH ROW EXECUTE FUNCTION record_written('part_id,until_seq', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON bench_work FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON service_step FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON lubricant_use FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON run FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON run_change FOR EACH ROW EXECUTE FUNCTION record_written('run_id,version', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON reading FOR EACH ROW EXECUTE FUNCTION record_written('run_id,position,hours,again', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON heard FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON final_test FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON trial FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON trial_day FOR EACH ROW EXECUTE FUNCTION record_written('trial_id,day,version', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON poising_round FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON poising_reading FOR EACH ROW EXECUTE FUNCTION record_written('round_id,up_deg', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON customer_link FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON payment FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON warranty_card FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON docket_sequence FOR EACH ROW EXECUTE FUNCTION record_written('year', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON customer FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON watch FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON watch_list FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON staff FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON staff_event FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON invite FOR EACH ROW EXECUTE FUNCTION record_written('token_hash', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON shop FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON shop_version FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON rate_limits FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON calibre FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON calibre_change FOR EACH ROW EXECUTE FUNCTION record_written('calibre_id,version', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON calibre_drawing FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON recorder FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON recorder_calibration FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON recorder_calibration_retired FOR EACH ROW EXECUTE FUNCTION record_written('calibration_id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON recorder_history FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON signing_key FOR EACH ROW EXECUTE FUNCTION record_written('id', 'seed');

-- +goose Down
DROP TRIGGER record_written_update ON docket;
DROP TRIGGER record_written ON docket;
DROP TRIGGER record_written ON condition_mark;
DROP TRIGGER record_written ON condition_earlier;
DROP TRIGGER record_written ON photo;
DROP TRIGGER record_written ON hazard;
DROP TRIGGER record_written ON finding;
DROP TRIGGER record_written ON estimate_revision;
DROP TRIGGER record_written ON estimate_line;
DROP TRIGGER record_written ON part_line;
DROP TRIGGER record_written ON part_line_earlier;
DROP TRIGGER record_written ON bench_work;
DROP TRIGGER record_written ON service_step;
DROP TRIGGER record_written ON lubricant_use;
DROP TRIGGER record_written ON run;
DROP TRIGGER record_written ON run_change;
DROP TRIGGER record_written ON reading;
DROP TRIGGER record_written ON heard;
DROP TRIGGER record_written ON final_test;
DROP TRIGGER record_written ON trial;
DROP TRIGGER record_written ON trial_day;
DROP TRIGGER record_written ON poising_round;
DROP TRIGGER record_written ON poising_reading;
DROP TRIGGER record_written ON customer_link;
DROP TRIGGER record_written ON payment;
DROP TRIGGER record_written ON warranty_card;
DROP TRIGGER record_written ON docket_sequence;
DROP TRIGGER record_written ON customer;
DROP TRIGGER record_written ON watch;
DROP TRIGGER record_written ON watch_list;
DROP TRIGGER record_written ON staff;
DROP TRIGGER record_written ON staff_event;
DROP TRIGGER record_written ON invite;
DROP TRIGGER record_written ON shop;
DROP TRIGGER record_written ON shop_version;
DROP TRIGGER record_written ON rate_limits;
DROP TRIGGER record_written ON calibre;
DROP TRIGGER record_written ON calibre_change;
DROP TRIGGER record_written ON calibre_drawing;
DROP TRIGGER record_written ON recorder;
DROP TRIGGER record_written ON recorder_calibration;
DROP TRIGGER record_written ON recorder_calibration_retired;
DROP TRIGGER record_written ON recorder_history;
DROP TRIGGER record_written ON signing_key;
DROP FUNCTION record_written;
DROP TABLE seal;
DROP TABLE seal_key;
DROP TABLE log_hash;
DROP TABLE log_leaf;
DROP TABLE log_pending;
DROP TABLE record_unentered;
DROP TABLE record_base;
DROP TABLE shop_head;
DROP TABLE shop_journal;
ALTER TABLE journal DROP COLUMN rows, DROP COLUMN mark;
