-- +goose Up
-- What is worked out from the record for figures: how long each docket stayed in each stage, what became of it, and what all
-- of them come to by month. None of it is evidence: figures_again() and the program make it again from the record.

CREATE TABLE stay (
    docket_id      bigint NOT NULL REFERENCES docket,
    seq            integer NOT NULL,
    stage          text NOT NULL,
    since          timestamptz NOT NULL,
    until          timestamptz,
    bench_staff_id bigint REFERENCES staff,
    PRIMARY KEY (docket_id, seq),
    CHECK (until >= since)
);
COMMENT ON TABLE stay IS 'one stay of a docket in a stage, in the transaction of each move; none in handed over, and the last ends as the watch leaves';
COMMENT ON COLUMN stay.seq IS 'from 1 within the docket';
COMMENT ON COLUMN stay.since IS 'docket.moved_at of the move that began it';
COMMENT ON COLUMN stay.until IS 'null while it lasts';
COMMENT ON COLUMN stay.bench_staff_id IS 'who had the work in hand when it ended, or has it now';
CREATE UNIQUE INDEX stay_lasting_idx ON stay (docket_id) WHERE until IS NULL;
CREATE INDEX stay_stage_lasting_idx ON stay (stage, since) WHERE until IS NULL;
CREATE INDEX stay_stage_ended_idx ON stay (stage, until) WHERE until IS NOT NULL;

CREATE TABLE outcome_due (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL
);
COMMENT ON TABLE outcome_due IS 'dockets that changed since their outcome was worked out, a row for each change';

CREATE TABLE outcome (
    docket_id         bigint PRIMARY KEY REFERENCES docket,
    version           bigint NOT NULL,
    received_on       date NOT NULL,
    first_promised_on date,
    promised_on       date,
    ready_on          date,
    left_on           date,
    ended             text NOT NULL DEFAULT '' CHECK (ended IN ('', 'handed-over', 'declined', 'withdrawn')),
    work              text NOT NULL,
    calibre_id        bigint REFERENCES calibre,
    bench_staff_id    bigint REFERENCES staff,
    comeback_of       bigint REFERENCES docket,
    came_back_on      date,
    tested_on         date,
    first_passed      boolean NOT NULL DEFAULT false,
    tests             integer NOT NULL DEFAULT 0,
    answered_on       date,
    approved          boolean NOT NULL DEFAULT false,
    refused           jsonb NOT NULL DEFAULT '{}',
    currency          text NOT NULL,
    billed_minor      bigint,
    parts_minor       bigint NOT NULL DEFAULT 0,
    parts_unknown     integer NOT NULL DEFAULT 0,
    taken             jsonb NOT NULL DEFAULT '{}',
    seconds           jsonb NOT NULL DEFAULT '{}',
    rate_before       double precision,
    delta_before      double precision,
    lying_before      double precision,
    hanging_before    double precision,
    loss_before       double precision,
    rate_after        double precision,
    delta_after       double precision,
    lying_after       double precision,
    hanging_after     double precision,
    loss_after        double precision
);
COMMENT ON TABLE outcome IS 'what became of a docket, by figures.Of; worked out again soon after each change of it';
COMMENT ON COLUMN outcome.version IS 'of the docket when it was worked out';
COMMENT ON COLUMN outcome.first_promised_on IS 'the day that the customer was told first; all days are the shop''s';
COMMENT ON COLUMN outcome.ready_on IS 'since when the watch is ready, or was when it left; null where it went back to the bench';
COMMENT ON COLUMN outcome.ended IS 'blank while the shop keeps the watch';
COMMENT ON COLUMN outcome.work IS 'the service wanted';
COMMENT ON COLUMN outcome.bench_staff_id IS 'who did the work';
COMMENT ON COLUMN outcome.came_back_on IS 'the day on which it came back under warranty first';
COMMENT ON COLUMN outcome.tests IS 'stays in final test that came to a verdict';
COMMENT ON COLUMN outcome.refused IS 'lines of estimates that the customer did not want, by kind';
COMMENT ON COLUMN outcome.billed_minor IS 'net of all documents, credit notes taken off, minor units of currency; null where none was issued';
COMMENT ON COLUMN outcome.parts_minor IS 'what fitted parts cost the shop, without tax, as far as it is known';
COMMENT ON COLUMN outcome.parts_unknown IS 'fitted parts whose cost nobody said';
COMMENT ON COLUMN outcome.taken IS 'minor units taken, less given back, by month of the till''s day';
COMMENT ON COLUMN outcome.seconds IS 'in each stage, of ended stays';
COMMENT ON COLUMN outcome.rate_before IS 'mean at full wind of the newest run as received, s/d; _after of the newest final run; delta in s/d, lying, hanging and loss over 24 h in degrees';
CREATE INDEX outcome_ready_idx ON outcome (ready_on, docket_id) WHERE ready_on IS NOT NULL;
CREATE INDEX outcome_left_idx ON outcome (left_on, docket_id) WHERE left_on IS NOT NULL;
CREATE INDEX outcome_promised_idx ON outcome (first_promised_on, docket_id) WHERE first_promised_on IS NOT NULL;
CREATE INDEX outcome_tested_idx ON outcome (tested_on, docket_id) WHERE tested_on IS NOT NULL;
CREATE INDEX outcome_answered_idx ON outcome (answered_on, docket_id) WHERE answered_on IS NOT NULL;
CREATE INDEX outcome_calibre_idx ON outcome (calibre_id, docket_id) WHERE calibre_id IS NOT NULL;

CREATE TABLE cell (
    measure   text NOT NULL,
    dimension text NOT NULL CHECK (dimension IN ('all', 'bench', 'calibre', 'work')),
    month     date NOT NULL,
    key       text NOT NULL,
    currency  text NOT NULL,
    value     integer NOT NULL,
    n         bigint NOT NULL,
    PRIMARY KEY (measure, dimension, month, key, currency, value)
);
COMMENT ON TABLE cell IS 'what all outcomes come to, by figures.Cells: of a measure, so many had this value in this month; in the transaction that works the outcome out';
COMMENT ON COLUMN cell.month IS 'its first day';
COMMENT ON COLUMN cell.n IS 'a count, or minor units of currency of the measures that count money';

-- +goose StatementBegin
CREATE FUNCTION docket_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'INSERT' THEN
        IF NEW.open THEN
            INSERT INTO stay (docket_id, seq, stage, since, bench_staff_id) VALUES (NEW.id, 1, NEW.stage, NEW.moved_at, NEW.bench_staff_id);
        END IF;
    ELSIF OLD.open AND (NEW.stage <> OLD.stage OR NOT NEW.open) THEN
        UPDATE stay SET until = greatest(since, NEW.moved_at) WHERE docket_id = NEW.id AND until IS NULL;
        IF NEW.open THEN
            INSERT INTO stay (docket_id, seq, stage, since, bench_staff_id)
                SELECT NEW.id, 1 + coalesce(max(seq), 0), NEW.stage, greatest(max(until), NEW.moved_at), NEW.bench_staff_id FROM stay WHERE docket_id = NEW.id;
        END IF;
    ELSIF NEW.open AND NEW.bench_staff_id IS DISTINCT FROM OLD.bench_staff_id THEN
        UPDATE stay SET bench_staff_id = NEW.bench_staff_id WHERE docket_id = NEW.id AND until IS NULL;
    END IF;
    RETURN NULL;
END $$;
CREATE FUNCTION docket_due() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO outcome_due (docket_id) VALUES (NEW.id);
    RETURN NULL;
END $$;
CREATE FUNCTION watch_due() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO outcome_due (docket_id) SELECT id FROM docket WHERE watch_id = NEW.id;
    RETURN NULL;
END $$;

-- Makes the stays again from the journal, empties what follows from them, and has every docket wait to be worked out.
CREATE FUNCTION figures_again() RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    DELETE FROM stay;
    DELETE FROM outcome;
    DELETE FROM cell;
    DELETE FROM outcome_due;
    INSERT INTO stay (docket_id, seq, stage, since, until, bench_staff_id)
    WITH entry AS (
        SELECT id AS docket_id, 0::bigint AS seq, 'intake' AS stage, received_at AS at, '' AS hand FROM docket
        UNION ALL
        SELECT j.docket_id, j.seq, CASE WHEN j.kind = 'moved' THEN f.said ->> 'to' END, j.at, coalesce(f.said ->> 'in_hand', '')
        FROM journal j, LATERAL (SELECT convert_from(j.facts, 'UTF8')::jsonb AS said) f
        WHERE j.kind IN ('moved', 'place changed') AND j.facts IS NOT NULL AND (j.kind = 'moved' OR f.said ? 'in_hand')
    ), numbered AS (
        SELECT *, count(stage) OVER (PARTITION BY docket_id ORDER BY seq) AS turn FROM entry
    ), begun AS (
        SELECT docket_id, turn, min(stage) AS stage, min(at) FILTER (WHERE stage IS NOT NULL) AS at, (array_agg(hand ORDER BY seq DESC))[1] AS hand
        FROM numbered GROUP BY docket_id, turn
    ), ordered AS ( -- a clock that was set back ends no stay before it began
        SELECT docket_id, turn, stage, max(at) OVER (PARTITION BY docket_id ORDER BY turn) AS since, hand FROM begun
    ), ended AS (
        SELECT *, lead(since) OVER (PARTITION BY docket_id ORDER BY turn) AS until FROM ordered
    )
    SELECT e.docket_id, e.turn, e.stage, e.since, CASE WHEN e.until IS NOT NULL THEN e.until WHEN NOT d.open THEN greatest(e.since, d.handed_back_at) END,
        CASE WHEN e.until IS NULL AND d.open THEN d.bench_staff_id ELSE s.id END
    FROM ended e JOIN docket d ON d.id = e.docket_id
    LEFT JOIN (SELECT name, min(id) AS id FROM staff GROUP BY name HAVING count(*) = 1) s ON s.name = e.hand
    WHERE e.stage <> 'handed-over';
    INSERT INTO outcome_due (docket_id) SELECT id FROM docket ORDER BY id;
END $$;
-- +goose StatementEnd

CREATE TRIGGER docket_stays AFTER INSERT OR UPDATE OF stage, open, bench_staff_id ON docket FOR EACH ROW EXECUTE FUNCTION docket_stays();
CREATE TRIGGER docket_due AFTER INSERT OR UPDATE OF version ON docket FOR EACH ROW EXECUTE FUNCTION docket_due();
CREATE TRIGGER watch_due AFTER UPDATE OF calibre_id ON watch FOR EACH ROW WHEN (NEW.calibre_id IS DISTINCT FROM OLD.calibre_id) EXECUTE FUNCTION watch_due();
SELECT figures_again();

-- +goose Down
DROP TRIGGER watch_due ON watch;
DROP TRIGGER docket_due ON docket;
DROP TRIGGER docket_stays ON docket;
DROP FUNCTION figures_again, watch_due, docket_due, docket_stays;
DROP TABLE cell;
DROP TABLE outcome;
DROP TABLE outcome_due;
DROP TABLE stay;
