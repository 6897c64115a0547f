-- Rounds of poising: hanging readings with the spring let down, and what was done to the balance before each.

-- +goose Up
CREATE TABLE poising_round (
    id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    docket_id bigint NOT NULL REFERENCES docket,
    ordinal integer NOT NULL CHECK (ordinal > 0),
    done text NOT NULL DEFAULT '',
    at timestamptz NOT NULL,
    by_id bigint NOT NULL REFERENCES staff,
    corrects bigint CONSTRAINT poising_round_corrects_key UNIQUE REFERENCES poising_round,
    struck_at timestamptz,
    struck_by bigint REFERENCES staff,
    why text NOT NULL DEFAULT '',
    CHECK ((struck_at IS NULL) = (struck_by IS NULL))
);
COMMENT ON TABLE poising_round IS 'a round of poising; a correction is a new row in place of a struck one, and none is ever deleted';
COMMENT ON COLUMN poising_round.ordinal IS 'the number of the round in its docket; that of what it corrects';
COMMENT ON COLUMN poising_round.done IS 'what was taken off or added since the round before';
COMMENT ON COLUMN poising_round.why IS 'why it was struck out or corrected';
CREATE INDEX poising_round_docket_idx ON poising_round (docket_id, ordinal, id);

CREATE TABLE poising_reading (
    round_id bigint NOT NULL REFERENCES poising_round,
    up_deg smallint NOT NULL CHECK (up_deg IN (0, 45, 90, 135, 180, 225, 270, 315)),
    rate_s_per_day double precision NOT NULL,
    rate_half_width double precision NOT NULL CHECK (rate_half_width >= 0),
    amplitude_deg double precision NOT NULL,
    amplitude_half_width double precision NOT NULL CHECK (amplitude_half_width >= 0),
    PRIMARY KEY (round_id, up_deg)
);
COMMENT ON COLUMN poising_reading.up_deg IS 'the point of the dial that is uppermost, degrees clockwise from 12';
COMMENT ON COLUMN poising_reading.rate_half_width IS 'half of one step of the figure as typed, s/d; rectangular';
COMMENT ON COLUMN poising_reading.amplitude_half_width IS 'half of one step of the figure as typed, degrees; rectangular';

-- +goose Down
DROP TABLE poising_reading;
DROP TABLE poising_round;
