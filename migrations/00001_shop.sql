-- The shop itself, the people who work in it, and their sessions.

-- +goose Up
CREATE TABLE shop (
    id                 boolean PRIMARY KEY DEFAULT true CHECK (id),
    name               text NOT NULL CHECK (name <> ''),
    address            text NOT NULL DEFAULT '',
    phone              text NOT NULL DEFAULT '',
    email              text NOT NULL DEFAULT '',
    time_zone          text NOT NULL DEFAULT 'UTC',
    locale             text NOT NULL DEFAULT 'en-GB',
    phone_region       text NOT NULL DEFAULT 'GB' CHECK (phone_region ~ '^[A-Z]{2}$'),
    currency           text NOT NULL DEFAULT 'EUR' CHECK (currency ~ '^[A-Z]{3}$'),
    tax_name           text NOT NULL DEFAULT 'VAT',
    tax_basis_points   integer NOT NULL DEFAULT 0 CHECK (tax_basis_points BETWEEN 0 AND 10000),
    prices_include_tax boolean NOT NULL DEFAULT true,
    decision_rule      text NOT NULL DEFAULT 'guarded' CHECK (decision_rule IN ('guarded', 'simple')),
    instrument         text NOT NULL DEFAULT '',
    instrument_ppm     double precision NOT NULL DEFAULT 50 CHECK (instrument_ppm >= 0),
    warranty_months    integer NOT NULL DEFAULT 12 CHECK (warranty_months BETWEEN 0 AND 120),
    warranty_covers    text NOT NULL DEFAULT '',
    ticket_terms       text NOT NULL DEFAULT '',
    estimate_days      integer NOT NULL DEFAULT 30 CHECK (estimate_days BETWEEN 1 AND 365),
    link_secret        bytea NOT NULL CHECK (length(link_secret) >= 32),
    created_at         timestamptz NOT NULL DEFAULT now()
);
COMMENT ON TABLE shop IS 'One row: the settings of the shop. No row yet means that the first owner has still to be made.';
COMMENT ON COLUMN shop.tax_basis_points IS 'usual tax rate in hundredths of a per cent';
COMMENT ON COLUMN shop.instrument_ppm IS 'half-width of the timing instrument''s clock error, parts per million, rectangular';
COMMENT ON COLUMN shop.decision_rule IS 'guarded: guard band of one expanded uncertainty (JCGM 106); simple: simple acceptance';
COMMENT ON COLUMN shop.link_secret IS 'key of the HMAC from which private links are derived; a new value withdraws them all';

CREATE TABLE staff (
    id                bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name              text NOT NULL CHECK (name <> ''),
    email             text NOT NULL,
    email_key         text NOT NULL CONSTRAINT staff_email_key UNIQUE,
    role              text NOT NULL CHECK (role IN ('owner', 'watchmaker', 'clerk')),
    password_hash     text,
    disabled_at       timestamptz,
    session_epoch     integer NOT NULL DEFAULT 0,
    created_at        timestamptz NOT NULL DEFAULT now()
);
COMMENT ON COLUMN staff.password_hash IS 'argon2id in PHC form; null until the invitation is taken up';
COMMENT ON COLUMN staff.session_epoch IS 'raised when the person is disabled or reset: older sessions end at once';

CREATE TABLE invite (
    token_hash bytea PRIMARY KEY CHECK (length(token_hash) = 32),
    staff_id   bigint NOT NULL REFERENCES staff,
    reset      boolean NOT NULL,
    made_by    bigint NOT NULL REFERENCES staff,
    made_at    timestamptz NOT NULL,
    used_at    timestamptz,
    revoked_at timestamptz
);
COMMENT ON TABLE invite IS 'links that let someone set a password once; only the SHA-256 of the secret is kept';
CREATE INDEX invite_staff_idx ON invite (staff_id, made_at DESC);

CREATE TABLE staff_event (
    id      bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    at      timestamptz NOT NULL,
    by_id   bigint REFERENCES staff,
    who_id  bigint NOT NULL REFERENCES staff,
    what    text NOT NULL
);
COMMENT ON TABLE staff_event IS 'who invited, changed, disabled or reset whom';

CREATE TABLE sessions (
    token  text PRIMARY KEY,
    data   bytea NOT NULL,
    expiry timestamptz NOT NULL
);
CREATE INDEX sessions_expiry_idx ON sessions (expiry);

-- +goose Down
DROP TABLE sessions;
DROP TABLE staff_event;
DROP TABLE invite;
DROP TABLE staff;
DROP TABLE shop;
