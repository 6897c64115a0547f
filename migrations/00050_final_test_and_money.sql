-- Final tests that take more than a day, notes beside money, and how whoever collected a watch was checked.

-- +goose Up
ALTER TABLE final_test DROP CONSTRAINT final_test_verdict_check;
ALTER TABLE final_test ADD CONSTRAINT final_test_verdict_check CHECK (verdict IN ('', 'pass', 'fail'));
COMMENT ON COLUMN final_test.verdict IS 'blank while tests are still to be done';
COMMENT ON TABLE final_test IS 'one row for each time results were recorded, with every result known by then; never changed';
-- +goose StatementBegin
CREATE FUNCTION final_test_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a final test stays as it was recorded' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER final_test_no_change BEFORE UPDATE OR DELETE ON final_test
    FOR EACH ROW EXECUTE FUNCTION final_test_kept();

ALTER TABLE payment ADD COLUMN note text NOT NULL DEFAULT '';

ALTER TABLE docket
    ADD COLUMN charged_reason text NOT NULL DEFAULT '',
    ADD COLUMN collected_proof text NOT NULL DEFAULT '' CHECK (collected_proof IN ('', 'ticket', 'identity')),
    ADD COLUMN collected_identity text NOT NULL DEFAULT '';
COMMENT ON COLUMN docket.charged_reason IS 'why charged_minor stands in place of the estimate';
COMMENT ON COLUMN docket.collected_proof IS 'ticket: the claim ticket was shown; identity: checked as collected_identity says';

-- +goose Down
ALTER TABLE docket DROP COLUMN collected_identity, DROP COLUMN collected_proof, DROP COLUMN charged_reason;
ALTER TABLE payment DROP COLUMN note;
DROP TRIGGER final_test_no_change ON final_test;
DROP FUNCTION final_test_kept;
DELETE FROM final_test WHERE verdict = '';
ALTER TABLE final_test DROP CONSTRAINT final_test_verdict_check;
ALTER TABLE final_test ADD CONSTRAINT final_test_verdict_check CHECK (verdict IN ('pass', 'fail'));
