-- Runs as sheets: the states of wind a grid has, figures that may be missing one by one, and who took each reading when.

-- +goose Up
ALTER TABLE run
    ADD COLUMN states double precision[] NOT NULL DEFAULT '{0}' CHECK (cardinality(states) BETWEEN 1 AND 6),
    ADD CONSTRAINT run_kind_check CHECK (kind IN ('as received', 'after service', 'adjustment', 'final')),
    ADD CONSTRAINT run_ordinal_check CHECK (ordinal >= 0 AND (ordinal = 0 OR kind = 'adjustment'));
COMMENT ON COLUMN run.states IS 'hours after winding that the grid has columns for, least first; some may have no reading yet';
COMMENT ON COLUMN run.version IS 'raised whenever the run is changed or judged anew';
CREATE UNIQUE INDEX run_adjustment_key ON run (docket_id, ordinal) WHERE kind = 'adjustment' AND ordinal > 0;

ALTER TABLE reading
    ALTER COLUMN rate_s_per_day DROP NOT NULL,
    ALTER COLUMN rate_half_width DROP NOT NULL,
    ADD COLUMN taken_at timestamptz,
    ADD COLUMN by_id bigint REFERENCES staff,
    ADD CONSTRAINT reading_measured_check CHECK (num_nonnulls(rate_s_per_day, amplitude_deg, beat_error_ms) > 0),
    ADD CONSTRAINT reading_widths_check CHECK ((rate_s_per_day IS NULL) = (rate_half_width IS NULL)
        AND (amplitude_deg IS NULL) = (amplitude_half_width IS NULL)
        AND (beat_error_ms IS NULL) = (beat_error_half_width IS NULL)),
    ADD CONSTRAINT reading_beat_error_check CHECK (beat_error_ms >= 0);
UPDATE reading SET taken_at = run.taken_at, by_id = run.by_id FROM run WHERE run.id = reading.run_id;
ALTER TABLE reading
    ALTER COLUMN taken_at SET NOT NULL,
    ALTER COLUMN by_id SET NOT NULL;
COMMENT ON COLUMN reading.taken_at IS 'when its figures as they stand were written down';
COMMENT ON COLUMN reading.amplitude_half_width IS 'half of one step of the figure as typed, degrees; rectangular';
COMMENT ON COLUMN reading.beat_error_half_width IS 'half of one step of the figure as typed, ms; rectangular';

-- +goose Down
ALTER TABLE reading
    DROP CONSTRAINT reading_beat_error_check,
    DROP CONSTRAINT reading_widths_check,
    DROP CONSTRAINT reading_measured_check,
    DROP COLUMN by_id,
    DROP COLUMN taken_at;
DELETE FROM reading WHERE rate_s_per_day IS NULL;
ALTER TABLE reading
    ALTER COLUMN rate_half_width SET NOT NULL,
    ALTER COLUMN rate_s_per_day SET NOT NULL;
DROP INDEX run_adjustment_key;
ALTER TABLE run
    DROP CONSTRAINT run_ordinal_check,
    DROP CONSTRAINT run_kind_check,
    DROP COLUMN states;
