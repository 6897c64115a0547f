-- What became of the shop's backups. It is no evidence: the backups prove themselves.

-- +goose Up
CREATE TABLE backup_run (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    at         timestamptz NOT NULL,
    nightly    boolean NOT NULL,
    place      text NOT NULL CHECK (place <> ''),
    bytes      bigint NOT NULL DEFAULT 0 CHECK (bytes >= 0),
    encrypted  boolean NOT NULL,
    restored   boolean NOT NULL DEFAULT false,
    proven_at  timestamptz,
    proof      text NOT NULL DEFAULT '',
    failed     text NOT NULL DEFAULT '',
    gone_at    timestamptz,
    CHECK ((proven_at IS NULL) = (proof = '')),
    CHECK (proven_at IS NULL OR restored AND failed = '')
);
COMMENT ON TABLE backup_run IS 'a backup that was made or failed';
COMMENT ON COLUMN backup_run.at IS 'when the record was read; of one that failed before, when it began';
COMMENT ON COLUMN backup_run.nightly IS 'made by the program itself, which deletes it when it is superfluous';
COMMENT ON COLUMN backup_run.place IS 'path of the file';
COMMENT ON COLUMN backup_run.bytes IS 'length of the file; 0 where none was kept';
COMMENT ON COLUMN backup_run.restored IS 'it was restored and every sum agreed, whether the record that it copies was whole or not';
COMMENT ON COLUMN backup_run.proven_at IS 'when it was restored and found whole';
COMMENT ON COLUMN backup_run.proof IS 'what was proven, as a sentence';
COMMENT ON COLUMN backup_run.failed IS 'why there is no backup, or why it is not proven, as a sentence';
COMMENT ON COLUMN backup_run.gone_at IS 'since when the file is not there; null again where it has come back, as with a disk that was away';
CREATE INDEX backup_run_proven_idx ON backup_run (at DESC) WHERE proven_at IS NOT NULL AND gone_at IS NULL;

-- +goose Down
DROP TABLE backup_run;
