-- Each session that was begun and has not ended, so that its person can see and end it. Sessions begun before this have
-- no row and are over: everybody signs in once more.

-- +goose Up
CREATE TABLE staff_session (
    id           text COLLATE "C" PRIMARY KEY CHECK (id <> ''),
    staff_id     bigint NOT NULL REFERENCES staff ON DELETE CASCADE,
    epoch        integer NOT NULL,
    begun_at     timestamptz NOT NULL DEFAULT now(),
    last_seen_at timestamptz NOT NULL DEFAULT now(),
    address      text NOT NULL,
    device       text NOT NULL,
    wrong        integer NOT NULL DEFAULT 0
);
COMMENT ON TABLE staff_session IS 'sessions that have not ended: a row that is gone ends its session at the next request. What a session holds is in table sessions';
COMMENT ON COLUMN staff_session.id IS 'names the session to its person; not the token that lets its browser in';
COMMENT ON COLUMN staff_session.epoch IS 'session_epoch of the person when it was begun; it is over once the person has another';
COMMENT ON COLUMN staff_session.last_seen_at IS 'when the browser last asked for anything, written at most once in three minutes';
COMMENT ON COLUMN staff_session.address IS 'network address from which it was last seen';
COMMENT ON COLUMN staff_session.device IS 'browser and system, in words made of what the browser says of itself';
COMMENT ON COLUMN staff_session.wrong IS 'how often the person was asked again who they are and answered wrong, since they last answered right';
CREATE INDEX staff_session_staff_idx ON staff_session (staff_id, begun_at);

ALTER TABLE shop ADD idle_minutes integer NOT NULL DEFAULT 720 CHECK (idle_minutes BETWEEN 5 AND 840);
ALTER TABLE shop_version ADD idle_minutes integer NOT NULL DEFAULT 720;
COMMENT ON COLUMN shop.idle_minutes IS 'minutes after which a session ends in which nothing is asked for';
COMMENT ON COLUMN shop_version.idle_minutes IS 'as in table shop; twelve hours for versions made before it was kept';

-- +goose Down
ALTER TABLE shop_version DROP idle_minutes;
ALTER TABLE shop DROP idle_minutes;
DROP TABLE staff_session;
