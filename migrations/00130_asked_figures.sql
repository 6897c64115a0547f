-- A typed figure that looked like a slip of the hand is asked about before it is kept; what was asked, and who confirmed
-- it, stays with the figure. Of figures typed until now nothing was asked.

-- +goose Up
ALTER TABLE reading
    ADD COLUMN rate_asked text NOT NULL DEFAULT '',
    ADD COLUMN amplitude_asked text NOT NULL DEFAULT '',
    ADD COLUMN beat_error_asked text NOT NULL DEFAULT '';
ALTER TABLE trial_day ADD COLUMN asked jsonb NOT NULL DEFAULT '{}';
ALTER TABLE recorder_calibration ADD COLUMN asked text NOT NULL DEFAULT '';
COMMENT ON COLUMN reading.rate_asked IS 'what was asked about the rate when it was typed, and who confirmed it';
COMMENT ON COLUMN reading.amplitude_asked IS 'likewise of the amplitude';
COMMENT ON COLUMN reading.beat_error_asked IS 'likewise of the beat error';
COMMENT ON COLUMN trial_day.asked IS 'what was asked about its figures when they were typed, and who confirmed it, by form field';
COMMENT ON COLUMN recorder_calibration.asked IS 'what was asked about its figures, and who confirmed it, a line each';

-- +goose Down
ALTER TABLE recorder_calibration DROP COLUMN asked;
ALTER TABLE trial_day DROP COLUMN asked;
ALTER TABLE reading DROP COLUMN rate_asked, DROP COLUMN amplitude_asked, DROP COLUMN beat_error_asked;
