-- Readings that were heard: what is kept of each recording beside its figures, and recordings sent in to be listened to.

-- +goose Up
CREATE TABLE heard (
    id            bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id     bigint NOT NULL REFERENCES docket,
    run_id        bigint NOT NULL REFERENCES run,
    position      text NOT NULL,
    hours         double precision NOT NULL,
    recorder_id   bigint,
    recorder      text NOT NULL,
    clock_std_ppm double precision NOT NULL CHECK (clock_std_ppm >= 0),
    facts         jsonb NOT NULL,
    sound_sha256  bytea CHECK (length(sound_sha256) = 32),
    sound_bytes   bigint CHECK (sound_bytes > 0),
    sound_format  text NOT NULL DEFAULT '' CHECK (sound_format IN ('', 'WAV', 'FLAC')),
    kept_at       timestamptz NOT NULL,
    by_id         bigint NOT NULL REFERENCES staff,
    CHECK ((sound_sha256 IS NULL) = (sound_bytes IS NULL) AND (sound_sha256 IS NULL) = (sound_format = ''))
);
COMMENT ON TABLE heard IS 'what is kept of the recording a reading was taken from; it stays when the reading is replaced';
COMMENT ON COLUMN heard.recorder_id IS 'of the shop''s list of recorders; null for one that was not in it';
COMMENT ON COLUMN heard.recorder IS 'its name then, which is the instrument of the reading';
COMMENT ON COLUMN heard.clock_std_ppm IS 'standard uncertainty of the recorder''s clock as it was known then, parts per million';
COMMENT ON COLUMN heard.sound_sha256 IS 'of the file in the uploads; null when the sound was not kept';
CREATE INDEX heard_docket_idx ON heard (docket_id, id);
CREATE INDEX heard_sound_idx ON heard (sound_sha256) WHERE sound_sha256 IS NOT NULL;

ALTER TABLE reading ADD COLUMN heard_id bigint REFERENCES heard;
COMMENT ON COLUMN reading.heard_id IS 'the recording its rate was heard in; null for one that was read off an instrument';

CREATE TABLE recording (
    id            bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id     bigint REFERENCES docket,
    by_id         bigint NOT NULL REFERENCES staff,
    sent_at       timestamptz NOT NULL,
    expires_at    timestamptz NOT NULL,
    file_name     text NOT NULL,
    state         text NOT NULL CHECK (state IN ('listening', 'heard', 'refused')),
    reason        text NOT NULL DEFAULT '',
    asked         jsonb NOT NULL,
    result        jsonb,
    facts         jsonb,
    sound_sha256  bytea NOT NULL CHECK (length(sound_sha256) = 32),
    sound_bytes   bigint NOT NULL CHECK (sound_bytes > 0),
    sound_format  text NOT NULL CHECK (sound_format IN ('WAV', 'FLAC')),
    kept_run_id   bigint REFERENCES run,
    CHECK ((state = 'heard') = (result IS NOT NULL) AND (result IS NULL) = (facts IS NULL)),
    CHECK ((state = 'refused') = (reason <> ''))
);
COMMENT ON TABLE recording IS 'a recording that was sent in to be listened to, and what was heard; passing, until it is kept as a reading';
COMMENT ON COLUMN recording.state IS 'what stands as being listened to when no process does was interrupted by the end of the program';
COMMENT ON COLUMN recording.expires_at IS 'after which the recording and its result are cleared away';
COMMENT ON COLUMN recording.reason IS 'why no figures were found, as a sentence';
COMMENT ON COLUMN recording.asked IS 'recorder, clock, beats per hour, lift angle, position and state of wind as given with it';
COMMENT ON COLUMN recording.kept_run_id IS 'the run it was kept in as a reading';
CREATE INDEX recording_maker_idx ON recording (by_id, id DESC);
CREATE INDEX recording_docket_idx ON recording (docket_id, id DESC) WHERE docket_id IS NOT NULL;
CREATE INDEX recording_expiry_idx ON recording (expires_at);
CREATE INDEX recording_sound_idx ON recording (sound_sha256);

-- +goose Down
DROP TABLE recording;
ALTER TABLE reading DROP COLUMN heard_id;
DROP TABLE heard;
