-- One sheet per stage: diagnosis, estimate, parts, service, regulation, final test.

-- +goose Up
CREATE TABLE hazard (
    docket_id       bigint NOT NULL REFERENCES docket,
    hazard          text NOT NULL,
    found_at        timestamptz NOT NULL,
    acknowledged_by bigint REFERENCES staff,
    acknowledged_at timestamptz,
    PRIMARY KEY (docket_id, hazard),
    CHECK ((acknowledged_by IS NULL) = (acknowledged_at IS NULL))
);
COMMENT ON TABLE hazard IS 'what could hurt someone in this work, and who has read its cautions';

CREATE TABLE finding (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id  bigint NOT NULL REFERENCES docket,
    component  text NOT NULL,
    fault      text NOT NULL,
    severity   text NOT NULL,
    note       text NOT NULL DEFAULT '',
    photo_id   bigint REFERENCES photo,
    by_id      bigint NOT NULL REFERENCES staff,
    at         timestamptz NOT NULL,
    struck_at  timestamptz
);
COMMENT ON COLUMN finding.struck_at IS 'struck out, as in a ledger: kept, but no longer part of the diagnosis';
CREATE INDEX finding_docket_idx ON finding (docket_id, id);

CREATE TABLE estimate_revision (
    id                 bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id          bigint NOT NULL REFERENCES docket,
    number             integer NOT NULL CHECK (number >= 1),
    state              text NOT NULL CHECK (state IN ('draft', 'sent', 'approved', 'declined', 'superseded')),
    currency           text NOT NULL CHECK (currency ~ '^[A-Z]{3}$'),
    prices_include_tax boolean NOT NULL,
    note               text NOT NULL DEFAULT '',
    valid_until        date NOT NULL,
    net_minor          bigint NOT NULL,
    tax_minor          bigint NOT NULL,
    gross_minor        bigint NOT NULL CHECK (gross_minor >= 0),
    made_by            bigint NOT NULL REFERENCES staff,
    made_at            timestamptz NOT NULL,
    sent_at            timestamptz,
    decided_at         timestamptz,
    decided_name       text NOT NULL DEFAULT '',
    decided_via        text NOT NULL DEFAULT '',
    decided_note       text NOT NULL DEFAULT '',
    CONSTRAINT estimate_revision_number_key UNIQUE (docket_id, number)
);
CREATE UNIQUE INDEX estimate_one_approved_idx ON estimate_revision (docket_id) WHERE state = 'approved';
COMMENT ON COLUMN estimate_revision.gross_minor IS 'what the customer pays, tax included, minor units of currency';

CREATE TABLE estimate_line (
    revision_id      bigint NOT NULL REFERENCES estimate_revision ON DELETE CASCADE,
    ordinal          integer NOT NULL,
    kind             text NOT NULL,
    description      text NOT NULL CHECK (description <> ''),
    quantity_milli   bigint NOT NULL CHECK (quantity_milli > 0),
    unit_minor       bigint NOT NULL,
    tax_basis_points integer NOT NULL CHECK (tax_basis_points BETWEEN 0 AND 10000),
    PRIMARY KEY (revision_id, ordinal)
);
COMMENT ON COLUMN estimate_line.quantity_milli IS 'quantity in thousandths';

CREATE TABLE part_line (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id   bigint NOT NULL REFERENCES docket,
    description text NOT NULL CHECK (description <> ''),
    reference   text NOT NULL DEFAULT '',
    supplier    text NOT NULL DEFAULT '',
    quantity    integer NOT NULL DEFAULT 1 CHECK (quantity >= 1),
    state       text NOT NULL CHECK (state IN ('needed', 'ordered', 'arrived', 'fitted', 'returned', 'cancelled')),
    note        text NOT NULL DEFAULT '',
    state_at    timestamptz NOT NULL
);
CREATE INDEX part_line_docket_idx ON part_line (docket_id, id);
CREATE INDEX part_line_waiting_idx ON part_line (state, id) WHERE state IN ('needed', 'ordered');

CREATE TABLE service_step (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    step      text NOT NULL CHECK (step <> ''),
    minutes   integer NOT NULL DEFAULT 0 CHECK (minutes BETWEEN 0 AND 6000),
    note      text NOT NULL DEFAULT '',
    by_id     bigint NOT NULL REFERENCES staff,
    at        timestamptz NOT NULL
);
CREATE INDEX service_step_docket_idx ON service_step (docket_id, id);

CREATE TABLE lubricant_use (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    place     text NOT NULL,
    lubricant text NOT NULL,
    note      text NOT NULL DEFAULT '',
    by_id     bigint NOT NULL REFERENCES staff,
    at        timestamptz NOT NULL
);
CREATE INDEX lubricant_use_docket_idx ON lubricant_use (docket_id, id);

CREATE TABLE run (
    id             bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id      bigint NOT NULL REFERENCES docket,
    kind           text NOT NULL,
    ordinal        integer NOT NULL DEFAULT 0,
    note           text NOT NULL DEFAULT '',
    instrument     text NOT NULL DEFAULT '',
    instrument_ppm double precision NOT NULL CHECK (instrument_ppm >= 0),
    temperature_c  double precision,
    taken_at       timestamptz NOT NULL,
    by_id          bigint NOT NULL REFERENCES staff,
    outcome        text NOT NULL DEFAULT '' CHECK (outcome IN ('', 'pass', 'fail', 'undecided')),
    rate_limits_id bigint REFERENCES rate_limits,
    simple_rule    boolean NOT NULL DEFAULT false,
    version        integer NOT NULL DEFAULT 1
);
COMMENT ON COLUMN run.outcome IS 'as judged when it was last saved, by the rate limits named; blank when there was nothing to judge by';
COMMENT ON COLUMN run.simple_rule IS 'judged by simple acceptance, without a guard band';
COMMENT ON COLUMN run.ordinal IS 'n of adjustment n; 0 for the other kinds';
CREATE INDEX run_docket_idx ON run (docket_id, id);

CREATE TABLE reading (
    run_id              bigint NOT NULL REFERENCES run,
    position            text NOT NULL CHECK (position IN ('CH', 'FH', '3H', '6H', '9H', '12H')),
    hours               double precision NOT NULL CHECK (hours >= 0),
    rate_s_per_day      double precision NOT NULL,
    rate_half_width     double precision NOT NULL CHECK (rate_half_width >= 0),
    rate_u              double precision NOT NULL DEFAULT 0 CHECK (rate_u >= 0),
    amplitude_deg       double precision CHECK (amplitude_deg > 0 AND amplitude_deg < 360),
    amplitude_half_width double precision CHECK (amplitude_half_width >= 0),
    amplitude_u         double precision NOT NULL DEFAULT 0 CHECK (amplitude_u >= 0),
    beat_error_ms       double precision,
    beat_error_half_width double precision CHECK (beat_error_half_width >= 0),
    beat_error_u        double precision NOT NULL DEFAULT 0 CHECK (beat_error_u >= 0),
    PRIMARY KEY (run_id, position, hours)
);
COMMENT ON COLUMN reading.hours IS 'hours after winding: 0 is full wind';
COMMENT ON COLUMN reading.rate_half_width IS 'half of one step of the figure as typed, s/d; rectangular';
COMMENT ON COLUMN reading.rate_u IS 'standard uncertainty stated with the reading, s/d, resolution and clock apart';

CREATE TABLE final_test (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    results   jsonb NOT NULL,
    verdict   text NOT NULL CHECK (verdict IN ('pass', 'fail')),
    note      text NOT NULL DEFAULT '',
    by_id     bigint NOT NULL REFERENCES staff,
    at        timestamptz NOT NULL
);
CREATE INDEX final_test_docket_idx ON final_test (docket_id, id);

-- +goose Down
DROP TABLE final_test;
DROP TABLE reading;
DROP TABLE run;
DROP TABLE lubricant_use;
DROP TABLE service_step;
DROP TABLE part_line;
DROP TABLE estimate_line;
DROP TABLE estimate_revision;
DROP TABLE finding;
DROP TABLE hazard;
