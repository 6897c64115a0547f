-- Watches that nobody collects: the profile of the place that the owner confirmed, the letters to the customer with the proof
-- of their posting, and what stands against going on.

-- +goose Up
CREATE TABLE place_profile (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    terms        text NOT NULL CHECK (terms <> ''),
    confirmed_at timestamptz NOT NULL,
    confirmed_by bigint NOT NULL REFERENCES staff
);
COMMENT ON TABLE place_profile IS 'what the law of the place is taken to ask, each time the owner confirmed it; the newest counts, none is ever changed';
COMMENT ON COLUMN place_profile.terms IS 'JSON of the profile with its numbers as they were confirmed';

CREATE TABLE collect_notice (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id    bigint NOT NULL REFERENCES docket,
    kind         text NOT NULL CHECK (kind IN ('collect', 'formal')),
    tongue       text NOT NULL,
    title        text NOT NULL CHECK (title <> ''),
    addressee    text NOT NULL CHECK (addressee <> ''),
    body         text NOT NULL CHECK (body <> ''),
    written_on   date NOT NULL,
    written_at   timestamptz NOT NULL,
    written_by   bigint NOT NULL REFERENCES staff,
    written_under bigint NOT NULL REFERENCES shop_version,
    profile_id   bigint REFERENCES place_profile,
    posted_on    date,
    post_number  text,
    photo_id     bigint REFERENCES photo,
    posted_at    timestamptz,
    posted_by    bigint REFERENCES staff,
    CHECK (posted_on IS NULL OR post_number IS NOT NULL OR photo_id IS NOT NULL)
);
COMMENT ON TABLE collect_notice IS 'letters that ask a customer to collect the watch, word for word as they were printed; only the proof of posting is added later';
COMMENT ON COLUMN collect_notice.body IS 'paragraphs, parted by an empty line';
COMMENT ON COLUMN collect_notice.written_under IS 'settings whose name and address it bears';
COMMENT ON COLUMN collect_notice.post_number IS 'number of the posting; proof of it is this, a photograph of the receipt, or both';
CREATE INDEX collect_notice_docket_idx ON collect_notice (docket_id, id);

CREATE TABLE collect_block (
    id        bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    kind      text NOT NULL CHECK (kind IN ('dispute', 'bill', 'owner')),
    words     text NOT NULL CHECK (words <> ''),
    by_id     bigint NOT NULL REFERENCES staff,
    at        timestamptz NOT NULL,
    lifted_at timestamptz,
    lifted_by bigint REFERENCES staff,
    lifted_why text CHECK (lifted_why <> '')
);
COMMENT ON TABLE collect_block IS 'what stands against any letter about a watch that nobody collects, until it is lifted with a reason';
CREATE INDEX collect_block_docket_idx ON collect_block (docket_id, id);

CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON place_profile FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON collect_notice FOR EACH ROW EXECUTE FUNCTION record_written('id', '');
CREATE TRIGGER record_written AFTER INSERT OR UPDATE OR DELETE ON collect_block FOR EACH ROW EXECUTE FUNCTION record_written('id', '');

-- +goose Down
DROP TABLE collect_block;
DROP TABLE collect_notice;
DROP TABLE place_profile;
