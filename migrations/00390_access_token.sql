-- +goose Up
-- What other programs may do with the record.

CREATE TABLE access_token (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name        text NOT NULL CHECK (name <> ''),
    scopes      text[] NOT NULL CHECK (cardinality(scopes) > 0),
    secret_hash bytea NOT NULL UNIQUE CHECK (length(secret_hash) = 32),
    hint        text NOT NULL,
    acts_for    bigint REFERENCES staff,
    made_by     bigint NOT NULL REFERENCES staff,
    made_at     timestamptz NOT NULL,
    expires_at  timestamptz,
    ended_by    bigint REFERENCES staff,
    ended_at    timestamptz,
    CHECK ((ended_by IS NULL) = (ended_at IS NULL))
);
COMMENT ON TABLE access_token IS 'by what another program reads the record or sends readings; only the SHA-256 of the secret is kept';
COMMENT ON COLUMN access_token.hint IS 'the last characters of the secret';
COMMENT ON COLUMN access_token.acts_for IS 'in whose name readings are recorded; null where none are sent';
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON access_token FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

CREATE TABLE access_token_use (
    token_id bigint PRIMARY KEY REFERENCES access_token,
    used_at  timestamptz NOT NULL
);
COMMENT ON TABLE access_token_use IS 'when a token was last used, to some minutes';

CREATE TABLE run_sent (
    token_id bigint NOT NULL REFERENCES access_token,
    key      bytea NOT NULL CHECK (length(key) = 32),
    sum      bytea NOT NULL CHECK (length(sum) = 32),
    run_id   bigint NOT NULL REFERENCES run,
    PRIMARY KEY (token_id, key)
);
COMMENT ON TABLE run_sent IS 'which sending of another program a run is of, so that one sent again is no second run';
COMMENT ON COLUMN run_sent.key IS 'SHA-256 of the idempotency key';
COMMENT ON COLUMN run_sent.sum IS 'SHA-256 of what was sent under it';

-- +goose Down
DROP TABLE run_sent;
DROP TABLE access_token_use;
DROP TABLE access_token;
