-- The docket, its journal, and what was handed over the counter.

-- +goose Up
CREATE TABLE rate_limits (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    grade      text NOT NULL CHECK (grade <> ''),
    version    integer NOT NULL CHECK (version >= 1),
    name       text NOT NULL,
    limits     jsonb NOT NULL,
    made_by    bigint REFERENCES staff,
    made_at    timestamptz NOT NULL DEFAULT now(),
    CONSTRAINT rate_limits_grade_version_key UNIQUE (grade, version)
);
COMMENT ON TABLE rate_limits IS 'a change makes a new version; dockets keep the version they were judged by';

CREATE TABLE docket_sequence (
    year integer PRIMARY KEY,
    last integer NOT NULL
);

CREATE TABLE docket (
    id                   bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    year                 integer NOT NULL,
    seq                  integer NOT NULL CHECK (seq >= 1),
    number               text NOT NULL CONSTRAINT docket_number_key UNIQUE,
    stage                text NOT NULL CHECK (stage IN ('intake', 'diagnosis', 'estimate', 'parts', 'service',
                             'regulation', 'final-test', 'ready', 'handed-over', 'declined', 'withdrawn')),
    open                 boolean NOT NULL DEFAULT true,
    place                text NOT NULL CHECK (place <> ''),
    place_detail         text NOT NULL DEFAULT '',
    version              bigint NOT NULL DEFAULT 0,
    head_hash            bytea NOT NULL DEFAULT decode(repeat('00', 32), 'hex') CHECK (length(head_hash) = 32),
    customer_id          bigint NOT NULL REFERENCES customer,
    watch_id             bigint NOT NULL REFERENCES watch,
    complaint            text NOT NULL,
    wanted               text NOT NULL,
    currency             text NOT NULL CHECK (currency ~ '^[A-Z]{3}$'),
    declared_minor       bigint CHECK (declared_minor >= 0),
    approval_limit_minor bigint CHECK (approval_limit_minor >= 0),
    charged_minor        bigint CHECK (charged_minor >= 0),
    received_on          date NOT NULL,
    promised_on          date,
    received_at          timestamptz NOT NULL,
    received_by          bigint NOT NULL REFERENCES staff,
    bench_staff_id       bigint REFERENCES staff,
    comeback_of          bigint REFERENCES docket,
    rate_limits_id       bigint REFERENCES rate_limits,
    condition_clear      text[] NOT NULL DEFAULT '{}',
    owner_reason         text NOT NULL DEFAULT '',
    moved_at             timestamptz NOT NULL,
    work_since           timestamptz,
    test_since           timestamptz,
    handed_back_at       timestamptz,
    collected_by         text NOT NULL DEFAULT '',
    old_parts            text NOT NULL DEFAULT '',
    CONSTRAINT docket_year_seq_key UNIQUE (year, seq)
);
COMMENT ON COLUMN docket.version IS 'sequence number of the newest journal entry';
COMMENT ON COLUMN docket.head_hash IS 'hash of that entry';
COMMENT ON COLUMN docket.charged_minor IS 'what the customer owes in all, minor units of currency; null: as the estimate says';
COMMENT ON COLUMN docket.work_since IS 'when service or regulation was last entered: final runs before it no longer count';
COMMENT ON COLUMN docket.test_since IS 'when the final test was last entered: tests before it no longer count';
COMMENT ON COLUMN docket.open IS 'the watch is still in the shop''s keeping';
COMMENT ON COLUMN docket.declared_minor IS 'value the customer declared, minor units of currency';
COMMENT ON COLUMN docket.approval_limit_minor IS 'work up to this amount needs no approval, minor units of currency; null when none was agreed';
COMMENT ON COLUMN docket.condition_clear IS 'parts of the watch seen and found without marks';
COMMENT ON COLUMN docket.owner_reason IS 'the owner''s written reason for a hand-over without a passed final test';
CREATE INDEX docket_open_stage_idx ON docket (stage, id DESC) WHERE open;
CREATE INDEX docket_open_idx ON docket (id DESC) WHERE open;
CREATE INDEX docket_stage_idx ON docket (stage, id DESC);
CREATE INDEX docket_promised_idx ON docket (promised_on, id) WHERE open;
CREATE INDEX docket_bench_idx ON docket (bench_staff_id, id DESC) WHERE open;
CREATE INDEX docket_customer_idx ON docket (customer_id, id DESC);
CREATE INDEX docket_watch_idx ON docket (watch_id, id DESC);
CREATE INDEX docket_comeback_idx ON docket (comeback_of) WHERE comeback_of IS NOT NULL;
CREATE INDEX docket_number_prefix_idx ON docket (number text_pattern_ops);

CREATE TABLE journal (
    docket_id bigint NOT NULL REFERENCES docket,
    seq       bigint NOT NULL CHECK (seq >= 1),
    at        timestamptz NOT NULL,
    by_kind   text NOT NULL CHECK (by_kind IN ('staff', 'customer', 'system')),
    by_id     bigint REFERENCES staff,
    by_name   text NOT NULL,
    kind      text NOT NULL CHECK (kind <> ''),
    summary   text NOT NULL CHECK (summary <> ''),
    why       text NOT NULL DEFAULT '',
    facts     bytea,
    prev_hash bytea NOT NULL CHECK (length(prev_hash) = 32),
    hash      bytea NOT NULL CHECK (length(hash) = 32),
    PRIMARY KEY (docket_id, seq)
);
COMMENT ON TABLE journal IS 'append-only and hash-chained; facts is the exact JSON that was hashed';

-- +goose StatementBegin
CREATE FUNCTION journal_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'the journal is append-only' USING ERRCODE = 'integrity_constraint_violation';
END $$;
-- +goose StatementEnd
CREATE TRIGGER journal_no_change BEFORE UPDATE OR DELETE ON journal
    FOR EACH ROW EXECUTE FUNCTION journal_append_only();
CREATE TRIGGER journal_no_truncate BEFORE TRUNCATE ON journal
    FOR EACH STATEMENT EXECUTE FUNCTION journal_append_only();

CREATE TABLE condition_mark (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    part      text NOT NULL,
    kind      text NOT NULL,
    x         double precision CHECK (x BETWEEN 0 AND 1),
    y         double precision CHECK (y BETWEEN 0 AND 1),
    note      text NOT NULL DEFAULT ''
);
COMMENT ON COLUMN condition_mark.x IS 'place on the outline, 0 left to 1 right; null when no place was pointed at';
CREATE INDEX condition_mark_docket_idx ON condition_mark (docket_id, id);

CREATE TABLE photo (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    about     text NOT NULL DEFAULT 'condition' CHECK (about IN ('condition', 'diagnosis', 'work')),
    caption   text NOT NULL DEFAULT '',
    sha256    bytea NOT NULL CHECK (length(sha256) = 32),
    width     integer NOT NULL CHECK (width > 0),
    height    integer NOT NULL CHECK (height > 0),
    bytes     integer NOT NULL CHECK (bytes > 0),
    added_by  bigint NOT NULL REFERENCES staff,
    added_at  timestamptz NOT NULL
);
COMMENT ON COLUMN photo.sha256 IS 'of the stored picture; names its files in the uploads folder';
CREATE INDEX photo_docket_idx ON photo (docket_id, id);

-- +goose Down
DROP TABLE photo;
DROP TABLE condition_mark;
DROP TABLE journal;
DROP FUNCTION journal_append_only;
DROP TABLE docket;
DROP TABLE docket_sequence;
DROP TABLE rate_limits;
