-- Recorders: the microphones that watches are listened to with, and how fast the sample clock of each runs.

-- +goose Up
CREATE TABLE recorder (
    id            bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name          text NOT NULL CHECK (name <> ''),
    name_key      text NOT NULL,
    note          text NOT NULL DEFAULT '',
    usual_rate_hz integer NOT NULL CHECK (usual_rate_hz BETWEEN 8000 AND 384000),
    added_at      timestamptz NOT NULL,
    added_by      bigint NOT NULL REFERENCES staff,
    retired_at    timestamptz,
    retired_by    bigint REFERENCES staff,
    retired_why   text NOT NULL DEFAULT '',
    CONSTRAINT recorder_name_key UNIQUE (name_key),
    CHECK ((retired_at IS NULL) = (retired_by IS NULL))
);
COMMENT ON COLUMN recorder.name IS 'as readings name it as their instrument; never changed';
COMMENT ON COLUMN recorder.name_key IS 'the name without case, with single spaces';
COMMENT ON COLUMN recorder.note IS 'what microphone and what sound card';
COMMENT ON COLUMN recorder.usual_rate_hz IS 'samples a second it is usually used at';

CREATE TABLE recorder_calibration (
    id             bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    recorder_id    bigint NOT NULL REFERENCES recorder,
    ppm            double precision NOT NULL CHECK (ppm BETWEEN -1000 AND 1000),
    std_ppm        double precision NOT NULL CHECK (std_ppm > 0 AND std_ppm <= 1000),
    method         text NOT NULL CHECK (method IN ('pulses', 'quartz watch', 'server clock', 'typed')),
    made_at        timestamptz NOT NULL,
    redo_by        date NOT NULL,
    note           text NOT NULL DEFAULT '',
    kept_at        timestamptz NOT NULL,
    by_id          bigint NOT NULL REFERENCES staff,
    duration_s     double precision NOT NULL DEFAULT 0 CHECK (duration_s >= 0),
    rate_hz        double precision NOT NULL DEFAULT 0 CHECK (rate_hz >= 0),
    used           integer NOT NULL DEFAULT 0 CHECK (used >= 0),
    missed         integer NOT NULL DEFAULT 0 CHECK (missed >= 0),
    scatter_us     double precision NOT NULL DEFAULT 0 CHECK (scatter_us >= 0),
    reference_rate_s_per_day double precision NOT NULL DEFAULT 0,
    reference_u95_s_per_day  double precision NOT NULL DEFAULT 0 CHECK (reference_u95_s_per_day >= 0)
);
COMMENT ON TABLE recorder_calibration IS 'what was found of a recorder''s clock; never changed: a later one takes its place, or it is retired';
COMMENT ON COLUMN recorder_calibration.ppm IS 'how far the clock runs fast, parts per million';
COMMENT ON COLUMN recorder_calibration.std_ppm IS 'standard uncertainty of ppm when it was found, ageing and temperature since apart';
COMMENT ON COLUMN recorder_calibration.redo_by IS 'last civil day before it is overdue';
COMMENT ON COLUMN recorder_calibration.used IS 'pulses used, or stretches of a session; 0 when not known';
COMMENT ON COLUMN recorder_calibration.scatter_us IS 'standard deviation of one of them about the line, µs';
COMMENT ON COLUMN recorder_calibration.reference_u95_s_per_day IS 'expanded uncertainty of the reference (k = 2), s/d';
CREATE INDEX recorder_calibration_idx ON recorder_calibration (recorder_id, made_at);

CREATE TABLE recorder_calibration_retired (
    calibration_id bigint PRIMARY KEY REFERENCES recorder_calibration,
    at             timestamptz NOT NULL,
    by_id          bigint NOT NULL REFERENCES staff,
    why            text NOT NULL CHECK (why <> '')
);
COMMENT ON TABLE recorder_calibration_retired IS 'calibrations that no longer count, from when and why; readings taken before keep them';

CREATE TABLE recorder_history (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    recorder_id bigint NOT NULL REFERENCES recorder,
    at          timestamptz NOT NULL,
    by_id       bigint NOT NULL REFERENCES staff,
    words       text NOT NULL CHECK (words <> '')
);
COMMENT ON TABLE recorder_history IS 'what happened to a recorder, in sentences';
CREATE INDEX recorder_history_idx ON recorder_history (recorder_id, id);

-- +goose StatementBegin
CREATE FUNCTION recorder_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'what was found of a recorder stays as it was written' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER recorder_calibration_no_change BEFORE UPDATE OR DELETE ON recorder_calibration
    FOR EACH ROW EXECUTE FUNCTION recorder_kept();
CREATE TRIGGER recorder_calibration_retired_no_change BEFORE UPDATE OR DELETE ON recorder_calibration_retired
    FOR EACH ROW EXECUTE FUNCTION recorder_kept();
CREATE TRIGGER recorder_history_no_change BEFORE UPDATE OR DELETE ON recorder_history
    FOR EACH ROW EXECUTE FUNCTION recorder_kept();

-- +goose Down
DROP TABLE recorder_history;
DROP TABLE recorder_calibration_retired;
DROP TABLE recorder_calibration;
DROP FUNCTION recorder_kept;
DROP TABLE recorder;
