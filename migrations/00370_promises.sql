-- +goose Up
-- Days on which the shop is closed; what day was proposed when a watch was taken in; and how likely the promised days still are.

CREATE TABLE holiday (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name       text NOT NULL CHECK (name <> ''),
    from_day   date NOT NULL,
    to_day     date NOT NULL,
    yearly     boolean NOT NULL,
    kept_by    bigint NOT NULL REFERENCES staff,
    kept_at    timestamptz NOT NULL,
    removed_at timestamptz,
    CHECK (to_day >= from_day)
);
COMMENT ON TABLE holiday IS 'days on which the shop is closed whatever its hours say';
COMMENT ON COLUMN holiday.yearly IS 'on the same dates of every later year too';
COMMENT ON COLUMN holiday.removed_at IS 'null for one that counts';
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON holiday FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

CREATE TABLE promise_proposed (
    docket_id        bigint PRIMARY KEY REFERENCES docket,
    day              date NOT NULL,
    chance_percent   smallint NOT NULL CHECK (chance_percent BETWEEN 0 AND 100),
    watches          integer NOT NULL CHECK (watches >= 0),
    start_percent    smallint NOT NULL CHECK (start_percent BETWEEN 0 AND 100),
    promised_percent smallint CHECK (promised_percent BETWEEN 0 AND 100)
);
COMMENT ON TABLE promise_proposed IS 'the day that was proposed when a watch was taken in';
COMMENT ON COLUMN promise_proposed.chance_percent IS 'with which it was said to be kept';
COMMENT ON COLUMN promise_proposed.watches IS 'finished watches of the shop from which it was drawn';
COMMENT ON COLUMN promise_proposed.start_percent IS 'how much of it was the stated start';
COMMENT ON COLUMN promise_proposed.promised_percent IS 'the chance, said then, of the day that was promised; null where none was';
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON promise_proposed FOR EACH ROW EXECUTE FUNCTION record_written('docket_id', '');

CREATE TABLE promise_now (
    docket_id      bigint PRIMARY KEY REFERENCES docket,
    promised_on    date,
    chance_percent smallint CHECK (chance_percent BETWEEN 0 AND 100),
    likely_on      date NOT NULL
);
COMMENT ON TABLE promise_now IS 'by when each watch in work will be ready, worked out again when any docket moves and every day';
COMMENT ON COLUMN promise_now.chance_percent IS 'of promised_on; null where no day is promised';
COMMENT ON COLUMN promise_now.likely_on IS 'the day that is kept 8 times in 10';

-- +goose Down
DROP TABLE promise_now;
DROP TABLE promise_proposed;
DROP TABLE holiday;
