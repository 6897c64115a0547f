-- Bench work is entered a stretch at a time: the steps taken, the lubricants used, the time spent.

-- +goose Up
CREATE TABLE bench_work (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    minutes   integer NOT NULL DEFAULT 0 CHECK (minutes BETWEEN 0 AND 720),
    note      text NOT NULL DEFAULT '',
    by_id     bigint NOT NULL REFERENCES staff,
    at        timestamptz NOT NULL
);
COMMENT ON TABLE bench_work IS 'one stretch of work on a watch; a correction replaces what it says, and the journal keeps both';
COMMENT ON COLUMN bench_work.minutes IS 'time spent besides that given with single steps';
CREATE INDEX bench_work_docket_idx ON bench_work (docket_id, id);
-- No release wrote these two tables before, so they are empty and the columns need no filling.
ALTER TABLE service_step ADD work_id bigint NOT NULL REFERENCES bench_work;
ALTER TABLE lubricant_use ADD work_id bigint NOT NULL REFERENCES bench_work;
CREATE INDEX service_step_work_idx ON service_step (work_id);
CREATE INDEX lubricant_use_work_idx ON lubricant_use (work_id);

-- +goose Down
ALTER TABLE lubricant_use DROP work_id;
ALTER TABLE service_step DROP work_id;
DROP TABLE bench_work;
