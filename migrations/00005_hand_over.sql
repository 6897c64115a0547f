-- The customer's private link, money taken, and the warranty card.

-- +goose Up
CREATE TABLE customer_link (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id  bigint NOT NULL REFERENCES docket,
    made_by    bigint NOT NULL REFERENCES staff,
    made_at    timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    ended_at   timestamptz
);
COMMENT ON TABLE customer_link IS 'the secret part of a link is an HMAC over the row''s id and is not stored';
CREATE INDEX customer_link_docket_idx ON customer_link (docket_id, id DESC);

CREATE TABLE payment (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    minor     bigint NOT NULL CHECK (minor <> 0),
    currency  text NOT NULL CHECK (currency ~ '^[A-Z]{3}$'),
    method    text NOT NULL,
    by_id     bigint NOT NULL REFERENCES staff,
    at        timestamptz NOT NULL
);
COMMENT ON COLUMN payment.minor IS 'minor units; negative when money went back';
CREATE INDEX payment_docket_idx ON payment (docket_id, id);

CREATE TABLE signing_key (
    id         text PRIMARY KEY,
    seed       bytea NOT NULL CHECK (length(seed) = 32),
    public     bytea NOT NULL CHECK (length(public) = 32),
    made_at    timestamptz NOT NULL,
    retired_at timestamptz
);
COMMENT ON TABLE signing_key IS 'Ed25519; a retired key signs no more but still proves its cards';
CREATE UNIQUE INDEX signing_key_current_idx ON signing_key ((true)) WHERE retired_at IS NULL;

CREATE TABLE warranty_card (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id   bigint NOT NULL REFERENCES docket,
    code        text NOT NULL CONSTRAINT warranty_card_code_key UNIQUE,
    facts       text NOT NULL,
    key_id      text NOT NULL REFERENCES signing_key,
    signature   bytea NOT NULL CHECK (length(signature) = 64),
    issued_at   timestamptz NOT NULL,
    issued_by   bigint NOT NULL REFERENCES staff,
    supersedes  bigint CONSTRAINT warranty_card_supersedes_key UNIQUE REFERENCES warranty_card,
    voided_at   timestamptz,
    voided_by   bigint REFERENCES staff,
    void_reason text NOT NULL DEFAULT '',
    CHECK (voided_at IS NULL OR void_reason <> '')
);
COMMENT ON COLUMN warranty_card.facts IS 'JSON of what the card says; never changed after signing';
CREATE INDEX warranty_card_docket_idx ON warranty_card (docket_id, id);

-- +goose StatementBegin
CREATE FUNCTION warranty_card_fixed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE'
       OR (NEW.docket_id, NEW.code, NEW.facts, NEW.key_id, NEW.signature, NEW.issued_at, NEW.issued_by)
          IS DISTINCT FROM
          (OLD.docket_id, OLD.code, OLD.facts, OLD.key_id, OLD.signature, OLD.issued_at, OLD.issued_by)
       OR NEW.supersedes IS DISTINCT FROM OLD.supersedes
       OR (OLD.voided_at IS NOT NULL AND NEW.voided_at IS DISTINCT FROM OLD.voided_at) THEN
        RAISE EXCEPTION 'a warranty card is never edited' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;
-- +goose StatementEnd
CREATE TRIGGER warranty_card_fixed BEFORE UPDATE OR DELETE ON warranty_card
    FOR EACH ROW EXECUTE FUNCTION warranty_card_fixed();

-- +goose Down
DROP TABLE warranty_card;
DROP FUNCTION warranty_card_fixed;
DROP TABLE signing_key;
DROP TABLE payment;
DROP TABLE customer_link;
