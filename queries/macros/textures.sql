-- Bars with their texture and length, and the lines that lead.

-- texture_bars(every): the bars in which something sounds, of the movements of
-- chosen_movements(every), with work, composer and length.
CREATE MACRO texture_bars(every) AS TABLE
SELECT textures.*, start_ticks, length_ticks, work_id, composer_id, coalesce(composer, 'not stated') AS composer
FROM textures
JOIN chosen_movements(every) USING (movement_key)
JOIN bars USING (bar_key)
WHERE texture IS NOT NULL;

-- leading_lines(): the rows of `layers` of the line that leads a bar and of those that share its
-- pitches.
CREATE MACRO leading_lines() AS TABLE
SELECT layers.*
FROM layers
JOIN (
    SELECT bar_key, layer, pitch_line FROM layers WHERE leads AND role = 'leading_line'
) USING (bar_key, layer, pitch_line);
