-- Who brings watches, which watches, and what the shop knows of their movements.

-- +goose Up
CREATE TABLE customer (
    id                bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name              text NOT NULL CHECK (name <> ''),
    name_key          text NOT NULL,
    phone             text NOT NULL DEFAULT '',
    phone_e164        text NOT NULL DEFAULT '',
    email             text NOT NULL DEFAULT '',
    email_key         text NOT NULL DEFAULT '',
    address           text NOT NULL DEFAULT '',
    preferred_contact text NOT NULL DEFAULT '',
    notes             text NOT NULL DEFAULT '',
    version           integer NOT NULL DEFAULT 1,
    created_at        timestamptz NOT NULL DEFAULT now()
);
COMMENT ON COLUMN customer.name_key IS 'folded name: compatibility forms, case and accents removed';
CREATE INDEX customer_phone_idx ON customer (phone_e164) WHERE phone_e164 <> '';
CREATE INDEX customer_email_idx ON customer (email_key text_pattern_ops) WHERE email_key <> '';
CREATE INDEX customer_name_idx ON customer (name_key text_pattern_ops, id);
CREATE INDEX customer_words_idx ON customer USING gin (to_tsvector('simple', name_key));

CREATE TABLE calibre (
    id                  bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name                text NOT NULL CHECK (name <> ''),
    name_key            text NOT NULL CONSTRAINT calibre_name_key UNIQUE,
    maker               text NOT NULL DEFAULT '',
    beats_per_hour      integer CHECK (beats_per_hour BETWEEN 7200 AND 72000),
    lift_angle_deg      double precision CHECK (lift_angle_deg BETWEEN 10 AND 90),
    power_reserve_hours double precision CHECK (power_reserve_hours > 0),
    grade               text NOT NULL,
    notes               text NOT NULL DEFAULT '',
    version             integer NOT NULL DEFAULT 1
);

CREATE TABLE watch (
    id                    bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    customer_id           bigint NOT NULL REFERENCES customer,
    maker                 text NOT NULL CHECK (maker <> ''),
    model                 text NOT NULL DEFAULT '',
    words_key             text NOT NULL,
    reference             text NOT NULL DEFAULT '',
    serial                text NOT NULL DEFAULT '',
    serial_key            text NOT NULL DEFAULT '',
    movement_serial       text NOT NULL DEFAULT '',
    movement_serial_key   text NOT NULL DEFAULT '',
    calibre_id            bigint REFERENCES calibre,
    calibre_name          text NOT NULL DEFAULT '',
    case_material         text NOT NULL DEFAULT '',
    strap                 text NOT NULL DEFAULT '',
    lume                  text NOT NULL DEFAULT '',
    winding               text NOT NULL DEFAULT '',
    water_resistance      text NOT NULL DEFAULT '',
    overpressure_bar      double precision NOT NULL DEFAULT 0,
    crown_at              smallint NOT NULL DEFAULT 3 CHECK (crown_at BETWEEN 1 AND 12),
    notes                 text NOT NULL DEFAULT '',
    version               integer NOT NULL DEFAULT 1,
    created_at            timestamptz NOT NULL DEFAULT now()
);
COMMENT ON COLUMN watch.serial_key IS 'serial folded so that spaces, dashes and look-alike letters do not hide a match';
COMMENT ON COLUMN watch.words_key IS 'folded maker, model and reference, for the find box';
COMMENT ON COLUMN watch.crown_at IS 'hour mark beside which the crown sits';
CREATE INDEX watch_customer_idx ON watch (customer_id, id);
CREATE INDEX watch_serial_idx ON watch (serial_key text_pattern_ops) WHERE serial_key <> '';
CREATE INDEX watch_movement_serial_idx ON watch (movement_serial_key text_pattern_ops) WHERE movement_serial_key <> '';
CREATE INDEX watch_words_idx ON watch USING gin (to_tsvector('simple', words_key));

CREATE TABLE watch_list (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    serial      text NOT NULL,
    serial_key  text NOT NULL CHECK (serial_key <> ''),
    maker       text NOT NULL DEFAULT '',
    reported_on date,
    source      text NOT NULL DEFAULT '',
    note        text NOT NULL DEFAULT '',
    added_by    bigint NOT NULL REFERENCES staff,
    added_at    timestamptz NOT NULL DEFAULT now(),
    removed_by  bigint REFERENCES staff,
    removed_at  timestamptz
);
COMMENT ON TABLE watch_list IS 'serials reported stolen; an entry is withdrawn, never erased';
CREATE INDEX watch_list_serial_idx ON watch_list (serial_key) WHERE removed_at IS NULL;

-- +goose Down
DROP TABLE watch_list;
DROP TABLE watch;
DROP TABLE calibre;
DROP TABLE customer;
