-- People's data: two records of one person made one, and a person's data erased on request.

-- +goose Up
ALTER TABLE customer
    ADD COLUMN merged_into bigint REFERENCES customer,
    ADD COLUMN erased_at   timestamptz;
COMMENT ON COLUMN customer.merged_into IS 'the record of the same person that is kept; this one is only found by';
COMMENT ON COLUMN customer.erased_at IS 'when name and ways to reach them went; a pseudonym stands in place of the name';
CREATE INDEX customer_merged_idx ON customer (merged_into) WHERE merged_into IS NOT NULL;

CREATE TABLE customer_merge (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    kept_id    bigint NOT NULL REFERENCES customer,
    merged_id  bigint NOT NULL CONSTRAINT customer_merge_merged_key UNIQUE REFERENCES customer,
    at         timestamptz NOT NULL,
    by_id      bigint NOT NULL REFERENCES staff,
    why        text NOT NULL,
    kept_was   jsonb NOT NULL,
    merged_was jsonb NOT NULL,
    moved      jsonb NOT NULL
);
COMMENT ON TABLE customer_merge IS 'two records of one person made one: both as they were, and what went over';
COMMENT ON COLUMN customer_merge.moved IS 'how many rows of which table went from the merged record to the kept one';
CREATE INDEX customer_merge_kept_idx ON customer_merge (kept_id, id);

CREATE TABLE customer_erasure (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    customer_id bigint NOT NULL REFERENCES customer,
    at          timestamptz NOT NULL,
    by_id       bigint REFERENCES staff,
    why         text NOT NULL,
    kept_until  date,
    finished_at timestamptz,
    replaced    integer NOT NULL,
    sealed      integer NOT NULL
);
COMMENT ON TABLE customer_erasure IS 'a person''s data erased on request';
COMMENT ON COLUMN customer_erasure.kept_until IS 'last day on which invoices must still show name and address; null where nothing has to stay';
COMMENT ON COLUMN customer_erasure.finished_at IS 'when name and address went too; null while they have to stay';
COMMENT ON COLUMN customer_erasure.replaced IS 'places in free text where the person''s words were replaced';
COMMENT ON COLUMN customer_erasure.sealed IS 'entries of journals that hold the person''s words under their hash, and are shown without';
CREATE INDEX customer_erasure_customer_idx ON customer_erasure (customer_id, id);
CREATE INDEX customer_erasure_waiting_idx ON customer_erasure (kept_until) WHERE finished_at IS NULL;

CREATE TABLE journal_told (
    docket_id bigint NOT NULL,
    seq       bigint NOT NULL,
    told      text NOT NULL,
    PRIMARY KEY (docket_id, seq)
);
COMMENT ON TABLE journal_told IS 'how an entry that holds an erased person''s words is shown instead; docket 0 is the shop''s journal';

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON customer_merge FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON customer_erasure FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON journal_told FOR EACH ROW EXECUTE FUNCTION record_written('docket_id,seq', '');

-- Lines that are never changed may be written once more while a person's words are taken out of them.
DROP TRIGGER final_test_no_change ON final_test;
DROP TRIGGER trial_day_no_change ON trial_day;
DROP TRIGGER run_change_no_change ON run_change;
CREATE TRIGGER final_test_no_change BEFORE UPDATE OR DELETE ON final_test FOR EACH ROW
    WHEN (current_setting('ledgerwheel.erasing', true) IS DISTINCT FROM 'yes') EXECUTE FUNCTION final_test_kept();
DROP TRIGGER written_once ON contact;
CREATE TRIGGER written_once BEFORE UPDATE OR DELETE ON contact FOR EACH ROW
    WHEN (current_setting('ledgerwheel.erasing', true) IS DISTINCT FROM 'yes') EXECUTE FUNCTION written_once();
CREATE TRIGGER trial_day_no_change BEFORE UPDATE OR DELETE ON trial_day FOR EACH ROW
    WHEN (current_setting('ledgerwheel.erasing', true) IS DISTINCT FROM 'yes') EXECUTE FUNCTION trial_day_kept();
CREATE TRIGGER run_change_no_change BEFORE UPDATE OR DELETE ON run_change FOR EACH ROW
    WHEN (current_setting('ledgerwheel.erasing', true) IS DISTINCT FROM 'yes') EXECUTE FUNCTION run_change_append_only();

ALTER TABLE shop ADD COLUMN invoice_years smallint CHECK (invoice_years BETWEEN 1 AND 30);
ALTER TABLE shop_version ADD COLUMN invoice_years smallint CHECK (invoice_years BETWEEN 1 AND 30);
COMMENT ON COLUMN shop.invoice_years IS 'for how many years after their year invoices must be kept; null where the owner has not said';
COMMENT ON COLUMN shop_version.invoice_years IS 'for how many years after their year invoices must be kept; null where the owner had not said';

-- +goose Down
DROP TRIGGER written_once ON contact;
CREATE TRIGGER written_once BEFORE UPDATE OR DELETE ON contact FOR EACH ROW EXECUTE FUNCTION written_once();
DROP TRIGGER final_test_no_change ON final_test;
DROP TRIGGER trial_day_no_change ON trial_day;
DROP TRIGGER run_change_no_change ON run_change;
CREATE TRIGGER final_test_no_change BEFORE UPDATE OR DELETE ON final_test FOR EACH ROW EXECUTE FUNCTION final_test_kept();
CREATE TRIGGER trial_day_no_change BEFORE UPDATE OR DELETE ON trial_day FOR EACH ROW EXECUTE FUNCTION trial_day_kept();
CREATE TRIGGER run_change_no_change BEFORE UPDATE OR DELETE ON run_change FOR EACH ROW EXECUTE FUNCTION run_change_append_only();
ALTER TABLE shop_version DROP COLUMN invoice_years;
ALTER TABLE shop DROP COLUMN invoice_years;
DROP TABLE journal_told;
DROP TABLE customer_erasure;
DROP TABLE customer_merge;
ALTER TABLE customer DROP COLUMN erased_at, DROP COLUMN merged_into;
