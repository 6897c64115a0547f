-- +goose Up
-- Watches that come and go by post.

CREATE TABLE carrier (
    id                 bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name               text NOT NULL CHECK (name <> ''),
    limit_minor        bigint NOT NULL CHECK (limit_minor > 0),
    currency           text NOT NULL CHECK (length(currency) = 3),
    cells_in_equipment boolean NOT NULL,
    note               text NOT NULL,
    kept_by            bigint NOT NULL REFERENCES staff,
    kept_at            timestamptz NOT NULL,
    ended_at           timestamptz
);
COMMENT ON TABLE carrier IS 'whom the shop sends by, as its owner wrote down their terms';
COMMENT ON COLUMN carrier.limit_minor IS 'the most a parcel is insured for, in minor units of currency';
COMMENT ON COLUMN carrier.cells_in_equipment IS 'takes lithium cells that are installed in what is sent';
COMMENT ON COLUMN carrier.ended_at IS 'the shop sends no longer by it, or its terms were written down anew';
CREATE UNIQUE INDEX carrier_name_idx ON carrier (lower(name)) WHERE ended_at IS NULL;

CREATE TABLE parcel_in (
    id       bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    came_at  timestamptz NOT NULL,
    by_id    bigint NOT NULL REFERENCES staff,
    carrier  text NOT NULL,
    number   text NOT NULL,
    sender   text NOT NULL,
    seal     text NOT NULL CHECK (seal IN ('whole', 'broken', 'none')),
    box      text NOT NULL CHECK (box IN ('whole', 'damaged', 'opened')),
    things   integer NOT NULL CHECK (things >= 0),
    contents text NOT NULL,
    note     text NOT NULL
);
COMMENT ON TABLE parcel_in IS 'a parcel as it came; sender is what the label says';

CREATE TABLE parcel_photo (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    parcel_id bigint NOT NULL REFERENCES parcel_in,
    sha256    bytea NOT NULL CHECK (length(sha256) = 32),
    width     integer NOT NULL CHECK (width > 0),
    height    integer NOT NULL CHECK (height > 0),
    bytes     integer NOT NULL CHECK (bytes > 0),
    added_by  bigint NOT NULL REFERENCES staff,
    added_at  timestamptz NOT NULL
);
COMMENT ON COLUMN parcel_photo.sha256 IS 'of the stored picture; names its files in the uploads folder';
CREATE INDEX parcel_photo_parcel_idx ON parcel_photo (parcel_id, id);
CREATE INDEX parcel_photo_sum_idx ON parcel_photo (sha256);

CREATE TABLE parcel_out (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id    bigint NOT NULL REFERENCES docket,
    state        text NOT NULL CHECK (state IN ('ready', 'given', 'withdrawn')),
    carrier_id   bigint NOT NULL REFERENCES carrier,
    value_minor  bigint NOT NULL CHECK (value_minor > 0),
    currency     text NOT NULL CHECK (length(currency) = 3),
    to_name      text NOT NULL,
    to_firm      text NOT NULL,
    street       text NOT NULL,
    town         text NOT NULL,
    region       text NOT NULL,
    postcode     text NOT NULL,
    country      text NOT NULL CHECK (length(country) = 2),
    contents     text NOT NULL,
    cell         text NOT NULL CHECK (cell IN ('none', 'other', 'lithium')),
    radium_asked text NOT NULL,
    consent_by   text NOT NULL CHECK (consent_by <> ''),
    consent_on   date NOT NULL,
    consent_how  text NOT NULL CHECK (consent_how IN ('letter', 'mail', 'text', 'signed')),
    ready_at     timestamptz NOT NULL,
    ready_by     bigint NOT NULL REFERENCES staff,
    ready_under  bigint NOT NULL REFERENCES shop_version,
    number       text NOT NULL DEFAULT '',
    proof        text NOT NULL DEFAULT '',
    settled_at   timestamptz,
    settled_by   bigint REFERENCES staff,
    CHECK ((state = 'ready') = (settled_at IS NULL)),
    CHECK (state <> 'given' OR (number <> '' AND proof <> ''))
);
COMMENT ON TABLE parcel_out IS 'a parcel in which the watch of a docket goes back';
COMMENT ON COLUMN parcel_out.value_minor IS 'declared to the carrier, in minor units of currency';
COMMENT ON COLUMN parcel_out.radium_asked IS 'what the carrier answered about luminous paint that may hold radium';
COMMENT ON COLUMN parcel_out.number IS 'the carrier''s, once it has the parcel; proof is that of posting';
CREATE INDEX parcel_out_docket_idx ON parcel_out (docket_id, id);
CREATE UNIQUE INDEX parcel_out_ready_idx ON parcel_out (docket_id) WHERE state = 'ready';

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON carrier FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON parcel_in FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON parcel_photo FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON parcel_out FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

ALTER TABLE docket ADD COLUMN parcel_id bigint REFERENCES parcel_in;
COMMENT ON COLUMN docket.parcel_id IS 'the parcel in which the watch came; null for one that was brought';
CREATE INDEX docket_parcel_idx ON docket (parcel_id) WHERE parcel_id IS NOT NULL;
ALTER TABLE docket DROP CONSTRAINT docket_collected_proof_check,
    ADD CONSTRAINT docket_collected_proof_check CHECK (collected_proof IN ('', 'ticket', 'identity', 'carrier'));
COMMENT ON COLUMN docket.collected_proof IS 'ticket: the claim ticket was shown; identity: checked as collected_identity says; carrier: sent by post';

DROP TRIGGER record_written_update ON docket;
-- +goose StatementBegin
DO $$
BEGIN
    EXECUTE format('CREATE TRIGGER record_written_update AFTER UPDATE OF %s ON docket FOR EACH ROW EXECUTE FUNCTION record_written(%L, %L)',
        (SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) FROM pg_attribute WHERE attrelid = 'docket'::regclass
            AND attnum > 0 AND NOT attisdropped AND attgenerated = '' AND attname NOT IN ('version', 'head_hash')), 'id', 'version,head_hash');
END $$;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER record_written_update ON docket;
ALTER TABLE docket DROP CONSTRAINT docket_collected_proof_check,
    ADD CONSTRAINT docket_collected_proof_check CHECK (collected_proof IN ('', 'ticket', 'identity'));
ALTER TABLE docket DROP COLUMN parcel_id;
-- +goose StatementBegin
DO $$
BEGIN
    EXECUTE format('CREATE TRIGGER record_written_update AFTER UPDATE OF %s ON docket FOR EACH ROW EXECUTE FUNCTION record_written(%L, %L)',
        (SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum) FROM pg_attribute WHERE attrelid = 'docket'::regclass
            AND attnum > 0 AND NOT attisdropped AND attgenerated = '' AND attname NOT IN ('version', 'head_hash')), 'id', 'version,head_hash');
END $$;
-- +goose StatementEnd
DROP TABLE parcel_out;
DROP TABLE parcel_photo;
DROP TABLE parcel_in;
DROP TABLE carrier;
