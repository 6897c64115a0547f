-- +goose Up
-- The shop's own jobs, what each costs from which day on, and the parts it usually needs.

CREATE TABLE job (
    id       bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    code     text NOT NULL CHECK (code <> ''),
    name     text NOT NULL CHECK (name <> ''),
    name_de  text NOT NULL DEFAULT '',
    name_fr  text NOT NULL DEFAULT '',
    kind     text NOT NULL CHECK (kind IN ('labour', 'outside-work', 'other')),
    windings text[] NOT NULL DEFAULT '{}',
    minutes  integer NOT NULL CHECK (minutes >= 0),
    version  integer NOT NULL DEFAULT 1,
    kept_by  bigint NOT NULL REFERENCES staff,
    kept_at  timestamptz NOT NULL,
    ended_at timestamptz
);
COMMENT ON TABLE job IS 'a line of the price list: work that the shop offers';
COMMENT ON COLUMN job.code IS 'letters that find it';
COMMENT ON COLUMN job.windings IS 'what the watches it is for are driven by; none for all';
COMMENT ON COLUMN job.minutes IS 'that it usually takes at the bench; 0 where nobody said';
COMMENT ON COLUMN job.ended_at IS 'offered no longer';
CREATE UNIQUE INDEX job_code_idx ON job (code) WHERE ended_at IS NULL;

CREATE TABLE job_price (
    job_id           bigint NOT NULL REFERENCES job,
    from_day         date NOT NULL,
    minor            bigint NOT NULL CHECK (minor >= 0),
    currency         text NOT NULL CHECK (length(currency) = 3),
    includes_tax     boolean NOT NULL,
    tax_basis_points integer NOT NULL CHECK (tax_basis_points BETWEEN 0 AND 10000),
    PRIMARY KEY (job_id, from_day)
);
COMMENT ON TABLE job_price IS 'what a job costs from a civil day on, in minor units of currency';

CREATE TABLE job_part (
    job_id      bigint NOT NULL REFERENCES job,
    ordinal     integer NOT NULL,
    description text NOT NULL CHECK (description <> ''),
    pieces      integer NOT NULL CHECK (pieces > 0),
    optional    boolean NOT NULL,
    PRIMARY KEY (job_id, ordinal)
);
COMMENT ON TABLE job_part IS 'a part that a job usually needs';

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON job FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON job_price FOR EACH ROW EXECUTE FUNCTION record_written('job_id,from_day', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON job_part FOR EACH ROW EXECUTE FUNCTION record_written('job_id,ordinal', '');

-- +goose Down
DROP TABLE job_part;
DROP TABLE job_price;
DROP TABLE job;
