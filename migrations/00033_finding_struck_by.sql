-- Who struck a finding out, and which finding stands in its place.

-- +goose Up
ALTER TABLE finding
    ADD struck_by bigint REFERENCES staff,
    ADD corrects bigint CONSTRAINT finding_corrects_key UNIQUE REFERENCES finding;
COMMENT ON COLUMN finding.corrects IS 'the struck finding that this one replaces';

-- +goose Down
ALTER TABLE finding DROP corrects, DROP struck_by;
