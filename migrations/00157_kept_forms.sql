-- What somebody had typed when their session was over: it waits for them, and for nobody else.

-- +goose Up
CREATE TABLE kept_form (
    id       text COLLATE "C" PRIMARY KEY,
    staff_id bigint NOT NULL REFERENCES staff ON DELETE CASCADE,
    at       timestamptz NOT NULL,
    why      text NOT NULL CHECK (why IN ('signed-out', 'other-person')),
    page     text NOT NULL CHECK (page LIKE '/%'),
    action   text NOT NULL CHECK (action LIKE '/%'),
    fields   jsonb NOT NULL,
    files    text[] NOT NULL DEFAULT '{}'
);
COMMENT ON TABLE kept_form IS 'forms sent by nobody who was signed in, kept for a day and twenty for each person; no passwords, no files';
COMMENT ON COLUMN kept_form.page IS 'path and query of the page on which the form stands';
COMMENT ON COLUMN kept_form.action IS 'path and query to which it was sent';
COMMENT ON COLUMN kept_form.files IS 'names of files that were sent with it and must be chosen again';
CREATE INDEX kept_form_staff_idx ON kept_form (staff_id, at);

-- +goose Down
DROP TABLE kept_form;
