-- How long a watch has been where it is, and words by which customers and watches are found in an order of
-- their own, so that a search reads as many rows as it shows however old the shop grows.

-- +goose Up
ALTER TABLE docket ADD COLUMN placed_at timestamptz;
COMMENT ON COLUMN docket.placed_at IS 'when the watch came to its present place; null: when it was received';

-- With the id behind the key a page of matches can be read in order and broken off, however many there are.
DROP INDEX watch_serial_idx;
CREATE INDEX watch_serial_idx ON watch (serial_key text_pattern_ops, id) WHERE serial_key <> '';
DROP INDEX watch_movement_serial_idx;
CREATE INDEX watch_movement_serial_idx ON watch (movement_serial_key text_pattern_ops, id) WHERE movement_serial_key <> '';
DROP INDEX customer_email_idx;
CREATE INDEX customer_email_idx ON customer (email_key text_pattern_ops, id) WHERE email_key <> '';

CREATE TABLE customer_word (
    word        text COLLATE "C" NOT NULL,
    customer_id bigint NOT NULL REFERENCES customer ON DELETE CASCADE,
    PRIMARY KEY (word, customer_id)
);
COMMENT ON TABLE customer_word IS 'the words of customer.name_key, kept by a trigger';
CREATE INDEX customer_word_customer_idx ON customer_word (customer_id, word);

CREATE TABLE watch_word (
    word     text COLLATE "C" NOT NULL,
    watch_id bigint NOT NULL REFERENCES watch ON DELETE CASCADE,
    PRIMARY KEY (word, watch_id)
);
COMMENT ON TABLE watch_word IS 'the words of watch.words_key, kept by a trigger';
CREATE INDEX watch_word_watch_idx ON watch_word (watch_id, word);

-- +goose StatementBegin
CREATE FUNCTION customer_words_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'UPDATE' THEN
        IF NEW.name_key = OLD.name_key THEN
            RETURN NULL;
        END IF;
        DELETE FROM customer_word WHERE customer_id = NEW.id;
    END IF;
    INSERT INTO customer_word (word, customer_id)
        SELECT DISTINCT word, NEW.id FROM unnest(string_to_array(NEW.name_key, ' ')) AS word WHERE word <> '';
    RETURN NULL;
END $$;
-- +goose StatementEnd
CREATE TRIGGER customer_words_kept AFTER INSERT OR UPDATE OF name_key ON customer
    FOR EACH ROW EXECUTE FUNCTION customer_words_kept();

-- +goose StatementBegin
CREATE FUNCTION watch_words_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'UPDATE' THEN
        IF NEW.words_key = OLD.words_key THEN
            RETURN NULL;
        END IF;
        DELETE FROM watch_word WHERE watch_id = NEW.id;
    END IF;
    INSERT INTO watch_word (word, watch_id)
        SELECT DISTINCT word, NEW.id FROM unnest(string_to_array(NEW.words_key, ' ')) AS word WHERE word <> '';
    RETURN NULL;
END $$;
-- +goose StatementEnd
CREATE TRIGGER watch_words_kept AFTER INSERT OR UPDATE OF words_key ON watch
    FOR EACH ROW EXECUTE FUNCTION watch_words_kept();

INSERT INTO customer_word (word, customer_id)
    SELECT DISTINCT word, id FROM customer, unnest(string_to_array(name_key, ' ')) AS word WHERE word <> '';
INSERT INTO watch_word (word, watch_id)
    SELECT DISTINCT word, id FROM watch, unnest(string_to_array(words_key, ' ')) AS word WHERE word <> '';

-- +goose Down
DROP TRIGGER watch_words_kept ON watch;
DROP TRIGGER customer_words_kept ON customer;
DROP FUNCTION watch_words_kept;
DROP FUNCTION customer_words_kept;
DROP TABLE watch_word;
DROP TABLE customer_word;
DROP INDEX customer_email_idx;
CREATE INDEX customer_email_idx ON customer (email_key text_pattern_ops) WHERE email_key <> '';
DROP INDEX watch_movement_serial_idx;
CREATE INDEX watch_movement_serial_idx ON watch (movement_serial_key text_pattern_ops) WHERE movement_serial_key <> '';
DROP INDEX watch_serial_idx;
CREATE INDEX watch_serial_idx ON watch (serial_key text_pattern_ops) WHERE serial_key <> '';
ALTER TABLE docket DROP COLUMN placed_at;
