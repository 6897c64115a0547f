-- What somebody signs in with besides the password: an app that makes codes, passkeys, and recovery codes.

-- +goose Up
CREATE TABLE staff_app (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    staff_id     bigint NOT NULL REFERENCES staff ON DELETE CASCADE,
    sealed       bytea NOT NULL,
    key_id       text NOT NULL,
    last_step    bigint NOT NULL DEFAULT 0,
    made_at      timestamptz NOT NULL,
    confirmed_at timestamptz,
    used_at      timestamptz
);
COMMENT ON TABLE staff_app IS 'secrets of apps that make codes (TOTP, RFC 6238); one for each person, and one more while it is set up';
COMMENT ON COLUMN staff_app.sealed IS 'the secret under AES-256-GCM: 12 bytes of nonce, then what was sealed; the key is not in the database';
COMMENT ON COLUMN staff_app.key_id IS 'which key of the purpose second-factor sealed it';
COMMENT ON COLUMN staff_app.last_step IS 'step of 30 seconds since 1970 of the newest code that was taken; no code of this step or before is taken again';
COMMENT ON COLUMN staff_app.confirmed_at IS 'when a code proved that the app has the secret; null before, when it lets nobody in';
CREATE UNIQUE INDEX staff_app_confirmed_key ON staff_app (staff_id) WHERE confirmed_at IS NOT NULL;
CREATE UNIQUE INDEX staff_app_open_key ON staff_app (staff_id) WHERE confirmed_at IS NULL;

CREATE TABLE staff_passkey (
    id            bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    staff_id      bigint NOT NULL REFERENCES staff ON DELETE CASCADE,
    credential_id bytea NOT NULL CONSTRAINT staff_passkey_credential_key UNIQUE,
    credential    jsonb NOT NULL,
    rp_id         text NOT NULL,
    name          text NOT NULL CHECK (name <> ''),
    made_at       timestamptz NOT NULL,
    used_at       timestamptz
);
COMMENT ON TABLE staff_passkey IS 'passkeys (WebAuthn); only public halves are here';
COMMENT ON COLUMN staff_passkey.credential IS 'the credential record of WebAuthn Level 3, section 4';
COMMENT ON COLUMN staff_passkey.rp_id IS 'host name for which it was made; browsers offer it there alone';
CREATE INDEX staff_passkey_staff_idx ON staff_passkey (staff_id);

CREATE TABLE staff_recovery_code (
    staff_id bigint NOT NULL REFERENCES staff ON DELETE CASCADE,
    hash     bytea NOT NULL CHECK (length(hash) = 32),
    made_at  timestamptz NOT NULL,
    used_at  timestamptz,
    PRIMARY KEY (staff_id, hash)
);
COMMENT ON TABLE staff_recovery_code IS 'each lets its person in once in place of a second factor; only hashes are kept, of 80 bits of chance or more';

ALTER TABLE shop ADD second_factor text NOT NULL DEFAULT 'nobody' CHECK (second_factor IN ('nobody', 'owners', 'all'));
ALTER TABLE shop_version ADD second_factor text NOT NULL DEFAULT 'nobody';
COMMENT ON COLUMN shop.second_factor IS 'who must have a second factor to sign in';
COMMENT ON COLUMN shop_version.second_factor IS 'as in table shop; nobody for versions made before it was kept';

-- +goose Down
ALTER TABLE shop_version DROP second_factor;
ALTER TABLE shop DROP second_factor;
DROP TABLE staff_recovery_code;
DROP TABLE staff_passkey;
DROP TABLE staff_app;
