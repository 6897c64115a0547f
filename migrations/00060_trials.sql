-- Trials of fifteen days: how each was set up, and what was noted day by day.

-- +goose Up
CREATE TABLE trial (
    id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    category smallint NOT NULL CHECK (category IN (1, 2)),
    method text NOT NULL CHECK (method IN ('instrument', 'comparison')),
    first_day date NOT NULL,
    reading_minute smallint NOT NULL CHECK (reading_minute BETWEEN 0 AND 1439),
    instrument text NOT NULL DEFAULT '',
    instrument_ppm double precision NOT NULL DEFAULT 0 CHECK (instrument_ppm >= 0),
    settled_hours double precision CHECK (settled_hours >= 0),
    settled_temperature_c double precision,
    state text NOT NULL DEFAULT 'running' CHECK (state IN ('running', 'ended', 'abandoned')),
    verdict text NOT NULL DEFAULT '',
    simple_rule boolean NOT NULL DEFAULT false,
    reason text NOT NULL DEFAULT '',
    begun_at timestamptz NOT NULL,
    begun_by bigint NOT NULL REFERENCES staff,
    ended_at timestamptz,
    ended_by bigint REFERENCES staff,
    CHECK ((settled_hours IS NULL) = (settled_temperature_c IS NULL)),
    CHECK ((state = 'running') = (ended_at IS NULL) AND (ended_at IS NULL) = (ended_by IS NULL)),
    CHECK (state <> 'abandoned' OR reason <> '')
);
COMMENT ON TABLE trial IS 'a trial by the programme of fifteen days; at most one of a docket runs';
COMMENT ON COLUMN trial.category IS 'class of the movement by size, 1 or 2';
COMMENT ON COLUMN trial.first_day IS 'civil day in the shop on which day 1 begins; the rate of day n is read n days later';
COMMENT ON COLUMN trial.reading_minute IS 'minutes after midnight at which the watch is read and wound, in the shop''s zone';
COMMENT ON COLUMN trial.instrument_ppm IS 'half-width of the error of the instrument''s clock, parts per million; rectangular';
COMMENT ON COLUMN trial.verdict IS 'by the rule of simple_rule, once it is ended';
COMMENT ON COLUMN trial.reason IS 'why it was abandoned';
CREATE UNIQUE INDEX trial_running_key ON trial (docket_id) WHERE state = 'running';
CREATE INDEX trial_docket ON trial (docket_id, id);

CREATE TABLE trial_day (
    trial_id bigint NOT NULL REFERENCES trial,
    day smallint NOT NULL CHECK (day BETWEEN 0 AND 15),
    version integer NOT NULL CHECK (version > 0),
    rate_s_per_day double precision,
    rate_half_width double precision,
    reference_at timestamptz,
    watch_at timestamptz,
    comparison_half_s double precision CHECK (comparison_half_s >= 0),
    position text NOT NULL,
    temperature_c double precision,
    functions_engaged boolean,
    read_at timestamptz NOT NULL,
    note text NOT NULL DEFAULT '',
    at timestamptz NOT NULL,
    by_id bigint NOT NULL REFERENCES staff,
    PRIMARY KEY (trial_id, day, version),
    CHECK ((rate_s_per_day IS NULL) = (rate_half_width IS NULL)),
    CHECK (num_nonnulls(reference_at, watch_at, comparison_half_s) IN (0, 3)),
    CHECK ((rate_s_per_day IS NULL) <> (reference_at IS NULL))
);
COMMENT ON TABLE trial_day IS 'what was noted at the end of a day, every version of it; the newest counts, and none is ever changed. Day 0 is the comparison that day 1 begins with';
COMMENT ON COLUMN trial_day.rate_half_width IS 'half of one step of the figure as typed, s/d; rectangular';
COMMENT ON COLUMN trial_day.watch_at IS 'the instant the watch showed, in the time that stood when the trial began';
COMMENT ON COLUMN trial_day.comparison_half_s IS 'watch and reference were read together to within this, s; rectangular';
COMMENT ON COLUMN trial_day.temperature_c IS 'as it was during the day; null when it was not noted';
COMMENT ON COLUMN trial_day.functions_engaged IS 'of day 10: whether what can be engaged ran; null when not noted, or when the watch has nothing of the kind';
-- +goose StatementBegin
CREATE FUNCTION trial_day_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a day of a trial stays as it was noted; a correction is a new version' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER trial_day_no_change BEFORE UPDATE OR DELETE ON trial_day
    FOR EACH ROW EXECUTE FUNCTION trial_day_kept();

-- +goose Down
DROP TABLE trial_day;
DROP FUNCTION trial_day_kept;
DROP TABLE trial;
