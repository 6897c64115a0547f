-- Why a run's figure was corrected, and why a docket is judged by another grade. Of what was changed before, the journal
-- tells from and to; no reason was asked for then, and none is made up.

-- +goose Up
CREATE TABLE run_change (
    run_id  bigint NOT NULL REFERENCES run,
    version integer NOT NULL CHECK (version > 1),
    why     text NOT NULL CHECK (why <> ''),
    changes jsonb NOT NULL CHECK (jsonb_typeof(changes) = 'array'),
    at      timestamptz NOT NULL,
    by_id   bigint NOT NULL REFERENCES staff,
    PRIMARY KEY (run_id, version)
);
COMMENT ON TABLE run_change IS 'each correction of figures on record of a run, with its reason';
COMMENT ON COLUMN run_change.version IS 'that the run then had';
COMMENT ON COLUMN run_change.changes IS 'in words: rate, CH, full wind: +3 s/d → +5 s/d';
-- +goose StatementBegin
CREATE FUNCTION run_change_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'the corrections of a run are append-only' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER run_change_no_change BEFORE UPDATE OR DELETE ON run_change
    FOR EACH ROW EXECUTE FUNCTION run_change_append_only();

ALTER TABLE docket ADD COLUMN rate_limits_why text NOT NULL DEFAULT '';
COMMENT ON COLUMN docket.rate_limits_why IS 'why its runs are judged by another grade than before; blank where they never were, or no reason was asked';

-- +goose Down
ALTER TABLE docket DROP COLUMN rate_limits_why;
DROP TABLE run_change;
DROP FUNCTION run_change_append_only;
