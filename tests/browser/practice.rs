//! Listening to the line and practicing it.
//!
//! A wrapper around `AudioBufferSourceNode.start` notes what is scheduled on the audio clock, so the times are those that the browser gets.

use std::time::Duration;

use halfbar_core::{Piece, read};
use serde_json::Value;

use crate::page::Page;

scenarios! {
    served (Served):
        every_note_is_put_on_its_exact_time, a_loop_goes_on_without_drift, the_tempo_changes_while_playing,
        the_playhead_goes_with_the_sound, versions_alternate, taps_are_reported_as_early_or_late,
        straight_eighths_are_not_the_figure, the_latency_of_a_device_is_measured_and_subtracted, chords_sound_when_switched_on, the_tempo_is_tapped, a_hidden_page_keeps_time, sound_that_is_held_back_continues, a_device_that_starts_slowly_is_waited_for, the_sound_is_saved, a_microphone_hears_when_notes_start,
        every_other_bar_rests_in_a_loop_of_one, slow_to_fast_goes_step_by_step, steps_of_a_ladder_are_heard_and_written;
    from_disk (OneFile): every_note_is_put_on_its_exact_time;
}

pub(crate) const LINE: &str = "key: Eb\nmeter: 4/4\ntempo: 200\nfeel: swing auto\nrecast: split-last at 1.1 bracket\n\n\
                    @Fm7 F3 Ab C Eb  G F Eb C | @Bb7 D F Ab C  Bb Ab F D |\n";

/// Notes every start from now on: when it is, how long the sound is, and when it was scheduled. While the page is `away`, it is hidden, and
/// its timers run at most once a second, as browsers do it.
pub(crate) const NOTE_STARTS: &str = "
    window.away = false;
    Object.defineProperty(document, 'hidden', { get: () => away });
    const every = window.setInterval;
    window.setInterval = (call, ms) => {
        let last = 0;
        return every(() => {
            if (away && performance.now() - last < 1000) return;
            last = performance.now();
            call();
        }, ms);
    };
    window.starts = [];
    const start = AudioBufferSourceNode.prototype.start;
    AudioBufferSourceNode.prototype.start = function (when) {
        starts.push([when, this.buffer.duration, this.context.currentTime]);
        window.context = this.context;
        return start.call(this, when);
    };";

async fn open(page: &Page, line: &str) {
    page.open_with(1280, line).await;
    page.js::<Value>(NOTE_STARTS).await;
    page.open_part("practice").await;
    page.until("practice is ready", "return one('#tempo').value !== ''").await;
    for (id, value) in [("beats", "off"), ("count-in", "0")] {
        choose(page, id, value).await;
    }
}

async fn choose(page: &Page, id: &str, value: &str) {
    page.js::<Value>(&format!(
        "one('#{id}').value = '{value}'; one('#{id}').dispatchEvent(new Event('change', {{ bubbles: true }}))"
    ))
    .await;
}

async fn play(page: &Page) {
    page.click("one('[data-play]')").await;
}

/// When this many notes were scheduled to start, in seconds from the first.
pub(crate) async fn starts(page: &Page, count: usize) -> Vec<f64> {
    page.until("enough notes are scheduled", &format!("return starts.length >= {count}")).await;
    let starts: Vec<(f64, f64, f64)> = page.js("return starts").await;
    starts[..count].iter().map(|start| start.0 - starts[0].0).collect()
}

/// When the notes of a line start as it is performed, in seconds.
pub(crate) fn performed(line: &str) -> Vec<f64> {
    let reading = read::text(line);
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    let sounds = piece.sounds().unwrap();
    sounds.iter().map(|sound| piece.performed().seconds(sound.start)).collect()
}

pub(crate) fn agree(found: &[f64], expected: &[f64]) {
    for (index, (found, expected)) in found.iter().zip(expected).enumerate() {
        assert!((found - expected).abs() < 0.0001, "note {index} starts at {found} s, not at {expected}");
    }
}

pub(crate) async fn every_note_is_put_on_its_exact_time(page: Page) {
    open(&page, LINE).await;
    page.click("one('#again')").await;
    play(&page).await;
    let expected = performed(LINE);
    agree(&starts(&page, expected.len()).await, &expected);
    page.until("the line has ended", "return one('[data-play]').textContent === 'Play'").await;
    let count: usize = page.js("return starts.length").await;
    assert_eq!(count, expected.len(), "it is played once");
}

async fn a_loop_goes_on_without_drift(page: Page) {
    open(&page, LINE).await;
    choose(&page, "reach", "bars").await;
    choose(&page, "last-bar", "1").await;
    choose(&page, "tempo", "320").await;
    play(&page).await;
    let once = performed(&LINE.replace("200", "320"));
    let bar = 4.0 * 60.0 / 320.0;
    let expected: Vec<f64> =
        (0..6).flat_map(|pass| once[..8].iter().map(move |start| f64::from(pass) * bar + start)).collect();
    agree(&starts(&page, expected.len()).await, &expected);
    play(&page).await;
    let count: usize = page.js("return starts.length").await;
    tokio::time::sleep(Duration::from_millis(600)).await;
    assert_eq!(page.js::<usize>("return starts.length").await, count, "it has stopped");
}

async fn the_tempo_changes_while_playing(page: Page) {
    let line = LINE.replace("swing auto", "straight").replace("recast: split-last at 1.1 bracket\n", "");
    open(&page, &line).await;
    play(&page).await;
    page.until("some notes are scheduled", "return starts.length >= 5").await;
    choose(&page, "tempo", "100").await;
    let starts = starts(&page, 14).await;
    let gaps: Vec<f64> = starts.windows(2).map(|pair| ((pair[1] - pair[0]) * 1000.0).round()).collect();
    // Eighths of 150 ms, then from some note on 300 ms.
    let slow = gaps.iter().position(|gap| *gap > 200.0).expect("it gets slower");
    assert!(slow >= 4, "{gaps:?}");
    assert!(gaps[..slow].iter().all(|gap| *gap == 150.0), "{gaps:?}");
    assert!(gaps[slow..].iter().all(|gap| *gap == 300.0), "{gaps:?}");
}

pub(crate) async fn the_playhead_goes_with_the_sound(page: Page) {
    open(&page, LINE).await;
    page.open_part("hands").await;
    choose(&page, "tempo", "60").await;
    play(&page).await;
    page.until("a note sounds", "return all('#sheet .sounding').length > 0").await;
    let (lit, on_neck): (Vec<String>, usize) = page
        .js(
            "return [all('#sheet .sounding').map((sign) => sign.dataset.note), all('#fretboard .sounding').length]",
        )
        .await;
    assert!(lit.len() >= 2 && lit.iter().all(|note| *note == lit[0]), "staff and tab: {lit:?}");
    assert!(on_neck > 0, "the neck shows the note");
    // The playhead is at the sounding note, and moves on.
    let place = "const line = one('.playhead').getBoundingClientRect();
        const sign = one('#sheet .sounding').getBoundingClientRect();
        return [line.left, sign.left]";
    let (before, sign): (f64, f64) = page.js(place).await;
    assert!(before - sign > -4.0 && before - sign < 80.0, "{before} at {sign}");
    page.until("the next bar is on the neck", "return one('#hands-bar').textContent === 'Bar 2'").await;
    play(&page).await;
    let left: usize = page.js("return all('.sounding, .playhead').length").await;
    assert_eq!(left, 0);
    // From a tapped note.
    page.js::<Value>("starts.length = 0").await;
    page.click("drawn('note').at(-1)").await;
    page.click("one('#again')").await;
    play(&page).await;
    page.until("it has ended", "return starts.length > 0 && one('[data-play]').textContent === 'Play'").await;
    assert_eq!(page.js::<usize>("return starts.length").await, 1);
}

async fn versions_alternate(page: Page) {
    let line = LINE.replace("swing auto", "straight");
    open(&page, &line).await;
    choose(&page, "reach", "window").await;
    choose(&page, "versions", "spelled").await;
    let said: String = page.js("return one('#sounds-say').textContent").await;
    // (2/3 - 1/2) * 60000 / 200: arithmetic.
    assert!(said.contains("up to 50 ms apart"), "{said}");
    play(&page).await;
    let starts = starts(&page, 12).await;
    let quarter = 60.0 / 200.0;
    let bracket = [0.0, 2.0 / 3.0, 4.0 / 3.0, 5.0 / 3.0];
    let tied = [2.0, 2.5, 2.0 + 4.0 / 3.0, 2.0 + 5.0 / 3.0];
    let again = bracket.map(|start| start + 4.0);
    let expected: Vec<f64> = [bracket, tied, again].concat().iter().map(|start| start * quarter).collect();
    agree(&starts, &expected);
}

/// Presses a key this many milliseconds after every note is heard, according to the browser, and leaves out every fourth. On a busy machine,
/// taps are later than intended, so how late each one really was is noted too.
pub(crate) const TAP_ALONG: &str = "
    window.plain ??= AudioBufferSourceNode.prototype.start;
    window.late = [];
    let count = 0;
    AudioBufferSourceNode.prototype.start = function (when) {
        const heard = () => {
            const { contextTime, performanceTime } = this.context.getOutputTimestamp();
            return performanceTime + (when - contextTime) * 1000;
        };
        if (this.buffer.duration > 0.4 && ++count % 4)
            setTimeout(() => {
                while (performance.now() < heard() + OFFSET);
                const tap = new KeyboardEvent('keydown', { key: 'f', bubbles: true });
                late.push(tap.timeStamp - heard());
                document.body.dispatchEvent(tap);
            }, heard() + OFFSET - performance.now() - 15);
        return plain.call(this, when);
    };";

async fn taps_are_reported_as_early_or_late(page: Page) {
    open(&page, "tempo: 100\nfeel: straight\nC4:1 D:1 E:1 F:1 | G:1 F:1 E:1 D:1 |\n").await;
    choose(&page, "count-in", "1").await;
    page.click("one('#timing summary')").await;
    page.click("one('#again')").await;
    for (offset, way) in [(35, "behind"), (-40, "ahead")] {
        page.js::<Value>(&TAP_ALONG.replace("OFFSET", &offset.to_string())).await;
        play(&page).await;
        page.until("the result is shown", "return one('#timing-says').textContent.startsWith('Take 1')")
            .await;
        let told: String = page.js("return one('#timing-says').textContent").await;
        assert!(
            told.starts_with("Take 1: 6 of 8 notes, ") && told.contains(" within 50 ms. On average "),
            "{told}"
        );
        let late: Vec<f64> = page.js("return late.slice(0, 6)").await;
        let mean = late.iter().sum::<f64>() / 6.0;
        let words: Vec<&str> = told.split("average ").nth(1).unwrap().split(' ').collect();
        let ms: f64 = words[0].parse().unwrap();
        let told_mean = if words[2].starts_with("behind") { ms } else { -ms };
        assert!((told_mean - mean).abs() <= 10.0, "{told} Actually {late:?}");
        assert!(words[2].starts_with(way), "{told} Actually {late:?}");
        let marks: (usize, usize) =
            page.js("return [all('#strip .played').length, all('#strip .missed').length]").await;
        assert_eq!(marks, (6, 2));
        page.until("it has ended", "return one('[data-play]').textContent === 'Play'").await;
        page.js::<Value>(
            "one('#timing-says').textContent = ''; AudioBufferSourceNode.prototype.start = plain",
        )
        .await;
    }
    // It is kept by rhythm, and for the next visit, until it is cleared.
    let rows = "return all('#kept-rows tr').map((row) => row.innerText.split('\\t').slice(0, 3).join(' '))";
    assert_eq!(page.js::<Vec<String>>(rows).await, ["plain 2 12 of 16"]);
    page.open(1280).await;
    page.open_part("practice").await;
    page.click("one('#timing summary')").await;
    page.until("it is still there", "return all('#kept-rows tr').length === 1").await;
    page.click("one('#forget')").await;
    assert!(page.js::<bool>("return one('#kept').hidden && all('#kept-rows tr').length === 0").await);
}

/// Taps even eighths at 80 quarter notes per minute, starting with the first note that is heard.
const TAP_EVENLY: &str = "
    window.plain ??= AudioBufferSourceNode.prototype.start;
    let begun = false;
    AudioBufferSourceNode.prototype.start = function (when) {
        if (this.buffer.duration > 0.4 && !begun) {
            begun = true;
            const { contextTime, performanceTime } = this.context.getOutputTimestamp();
            for (let tap = 0; tap < 8; tap += 1) {
                const at = performanceTime + (when - contextTime + tap * 0.375) * 1000;
                setTimeout(() => {
                    while (performance.now() < at);
                    document.body.dispatchEvent(new KeyboardEvent('keydown', { key: 'f', bubbles: true }));
                }, at - performance.now() - 15);
            }
        }
        return plain.call(this, when);
    };";

async fn straight_eighths_are_not_the_figure(page: Page) {
    open(&page, "tempo: 80\nfeel: straight\nrecast: split-last at 1.1 bracket\n\nC4 D E F  G A B C |\n")
        .await;
    choose(&page, "count-in", "1").await;
    page.click("one('#timing summary')").await;
    page.click("one('#again')").await;
    page.js::<Value>(TAP_EVENLY).await;
    play(&page).await;
    // Each note gets its mark as soon as it is played.
    page.until("a note is on time", "return all('#sheet .timed.close').length > 0").await;
    page.until("a note is early", "return all('#sheet .timed.early').length > 0").await;
    page.until("the result is shown", "return one('#timing-says').textContent.startsWith('Take 1')").await;
    let told: String = page.js("return one('#timing-says').textContent").await;
    assert!(told.contains("Played as plain eighths, not as the figure: bar 1 beat 1."), "{told}");
    assert!(told.contains("Farthest off: bar 1"), "{told}");
    assert!(!told.contains(" 8 within 50 ms"), "{told}");
}

async fn the_latency_of_a_device_is_measured_and_subtracted(page: Page) {
    open(&page, "tempo: 100\nfeel: straight\nC4:1 D:1 E:1 F:1 |\n").await;
    page.click("one('#timing summary')").await;
    page.click("one('#again')").await;
    // Every click and every note is tapped 120 ms late.
    let answer =
        TAP_ALONG.replace("this.buffer.duration > 0.4 && ++count % 4", "++count").replace("OFFSET", "120");
    page.js::<Value>(&answer).await;
    page.click("one('#find-delay')").await;
    page.until("it is found", "return one('#timing-says').textContent.startsWith('The tap latency is')")
        .await;
    let told: String = page.js("return one('#timing-says').textContent").await;
    let ms: f64 = told.split(' ').nth(4).unwrap().parse().unwrap();
    let late: Vec<f64> = page.js("return late").await;
    let mut sorted = late.clone();
    sorted.sort_by(f64::total_cmp);
    assert!((ms - sorted[late.len() / 2]).abs() <= 10.0, "{told} Actually {late:?}");
    choose(&page, "count-in", "0").await;
    page.js::<Value>("late.length = 0").await;
    play(&page).await;
    page.until("the result is shown", "return one('#timing-says').textContent.startsWith('Take 1')").await;
    let told: String = page.js("return one('#timing-says').textContent").await;
    let late: Vec<f64> = page.js("return late").await;
    let left = late.iter().sum::<f64>() / late.len() as f64 - ms;
    let off = match told.split("average ").nth(1).unwrap() {
        words if words.starts_with("right on the beat") => 0.0,
        words => {
            let ms: f64 = words.split(' ').next().unwrap().parse().unwrap();
            if words.contains("ms behind") { ms } else { -ms }
        }
    };
    assert!((off - left).abs() <= 10.0, "{told} Actually {late:?}, minus {ms}");
    // With too few taps, a message says so.
    page.js::<Value>("AudioBufferSourceNode.prototype.start = plain").await;
    page.click("one('#find-delay')").await;
    page.until("the message is shown", "return one('#timing-says').textContent.startsWith('0 taps')").await;
}

async fn chords_sound_when_switched_on(page: Page) {
    open(&page, LINE).await;
    page.click("one('#hear-line')").await;
    page.click("one('#hear-chords')").await;
    page.click("one('#again')").await;
    play(&page).await;
    page.until("it has ended", "return starts.length > 0 && one('[data-play]').textContent === 'Play'").await;
    // A root, a third and a seventh for each of two chords, and no notes of the line.
    let bar = 4.0 * 60.0 / 200.0;
    let found: usize = page.js("return starts.length").await;
    assert_eq!(found, 6);
    agree(&starts(&page, 6).await, &[0.0, 0.0, 0.0, bar, bar, bar]);
}

async fn the_tempo_is_tapped(page: Page) {
    open(&page, LINE).await;
    page.js::<Value>(
        "const tap = (left) => {
            one('#tap-tempo').click();
            if (left > 0) setTimeout(tap, 600, left - 1);
        };
        tap(5)",
    )
    .await;
    let tempo = "return Number(one('#tempo').value)";
    page.until("the tempo has changed", "return one('#tempo').value !== '200'").await;
    tokio::time::sleep(Duration::from_millis(3_200)).await;
    let found: f64 = page.js(tempo).await;
    assert!((90.0..=101.0).contains(&found), "{found} from taps 600 ms and a little more apart");
}

async fn every_other_bar_rests_in_a_loop_of_one(page: Page) {
    open(&page, "tempo: 320\nC4:4 |\n").await;
    page.click("one('#hear-line')").await;
    choose(&page, "beats", "every").await;
    page.click("one('#rests')").await;
    play(&page).await;
    let quarter = 60.0 / 320.0;
    let expected: Vec<f64> =
        [0.0, 1.0, 2.0, 3.0, 8.0, 9.0, 10.0, 11.0, 16.0].iter().map(|beat| beat * quarter).collect();
    agree(&starts(&page, expected.len()).await, &expected);
}

async fn slow_to_fast_goes_step_by_step(page: Page) {
    open(&page, "feel: straight\nC4:2 D:2 |\n").await;
    page.click("one('#pace summary')").await;
    for (id, value) in [("pace-from", "290"), ("pace-to", "320"), ("pace-step", "5"), ("pace-times", "1")] {
        choose(&page, id, value).await;
    }
    page.click("one('#play-pace')").await;
    // The same button stops it, and the current step is shown beside Play.
    assert_eq!(page.js::<String>("return one('#play-pace').textContent").await, "Stop");
    page.until(
        "the step is shown",
        "return shown(one('#now')) && one('#now').textContent.startsWith('290 (1 of 3)')",
    )
    .await;
    let starts = starts(&page, 6).await;
    let gaps: Vec<f64> = starts.windows(2).map(|pair| 120.0 / (pair[1] - pair[0])).collect();
    // 290, 305 (290 plus 5 percent, to the nearest whole number), 320.
    for (gap, expected) in gaps.iter().zip([290.0, 290.0, 305.0, 305.0, 320.0]) {
        assert!((gap - expected).abs() < 0.1, "{gaps:?}");
    }
    page.until("it ends at the target", "return one('[data-play]').textContent === 'Play'").await;
    assert_eq!(page.js::<String>("return one('#play-pace').textContent").await, "Play slow to fast");
    choose(&page, "pace-step", "90").await;
    page.click("one('#play-pace')").await;
    let said: String = page.js("return one('#status').textContent").await;
    assert_eq!(said, "The step must be a whole number from 1 to 25.");
}

async fn steps_of_a_ladder_are_heard_and_written(page: Page) {
    open(&page, LINE).await;
    page.click("one('#ladder summary')").await;
    page.until("the steps are ready", "return all('#steps li').length > 5").await;
    let (says, drawn): (Vec<String>, usize) =
        page.js("return [all('#steps li > p:first-child').map((says) => says.textContent), all('#steps svg').length]").await;
    assert!(says[0].starts_with("Play quarter notes") && drawn > 4, "{says:?}");
    choose(&page, "tempo", "320").await;
    page.click("one('#steps [data-hear=\"1\"]')").await;
    // Quarter-note triplets, whatever the line is.
    let starts = starts(&page, 6).await;
    let expected: Vec<f64> = (0..6).map(|note| f64::from(note) * 40.0 / 320.0).collect();
    agree(&starts, &expected);
    page.click("one('#steps [data-write=\"1\"]')").await;
    assert!(
        page.text().await.contains("\nF3:2/3 F:2/3 F:2/3  F:2/3 F:2/3 F:2/3 |\n"),
        "{}",
        page.text().await
    );
    // It is a new line; the one that it was made for is kept unchanged.
    page.open_part("lines").await;
    page.until("both are kept", "return all('#lines li').length === 2").await;
    page.click("one('#lines [data-open]:enabled')").await;
    assert_eq!(page.text().await, LINE);
}

async fn a_hidden_page_keeps_time(page: Page) {
    open(&page, "tempo: 320\nfeel: straight\nC4 D E F G A B C |\n").await;
    play(&page).await;
    page.until("it sounds", "return starts.length >= 8").await;
    page.js::<Value>("away = true; document.dispatchEvent(new Event('visibilitychange'))").await;
    tokio::time::sleep(Duration::from_secs(4)).await;
    let count: usize = page.js("return starts.length").await;
    assert!(count > 8 + 4 * 8, "{count} notes in more than four seconds");
    let expected: Vec<f64> = (0..count).map(|note| note as f64 * 30.0 / 320.0).collect();
    agree(&starts(&page, count).await, &expected);
    let least: f64 = page.js("return Math.min(...starts.map(([when, , now]) => when - now))").await;
    assert!(least > 0.0, "a note was scheduled {} s too late", -least);
}

async fn sound_that_is_held_back_continues(page: Page) {
    open(&page, "tempo: 320\nfeel: straight\nC4 D E F G A B C |\n").await;
    play(&page).await;
    page.until("it sounds", "return starts.length >= 8").await;
    // Like a phone call, which doesn't give the sound back immediately.
    page.js::<Value>(
        "window.resume = AudioContext.prototype.resume;
        AudioContext.prototype.resume = () => Promise.reject(new Error('not now'));
        context.suspend()",
    )
    .await;
    page.until(
        "the message is shown",
        "return one('#status').textContent.includes('holding the sound back')",
    )
    .await;
    page.js::<Value>("AudioContext.prototype.resume = resume").await;
    let count: usize = page.js("return starts.length").await;
    page.until(
        "it continues",
        &format!("return starts.length > {} && one('#status').textContent === ''", count + 8),
    )
    .await;
    let expected: Vec<f64> = (0..count + 8).map(|note| note as f64 * 30.0 / 320.0).collect();
    agree(&starts(&page, count + 8).await, &expected);
}

/// Some devices take most of a second to start, without the browser holding the sound back.
async fn a_device_that_starts_slowly_is_waited_for(page: Page) {
    open(&page, LINE).await;
    page.js::<Value>(
        "window.clock = performance.now();
        performance.now = () => clock;
        Object.defineProperty(BaseAudioContext.prototype, 'state', { get: () => 'suspended' });
        window.asked = 0;
        AudioContext.prototype.resume = () => (asked++, Promise.resolve())",
    )
    .await;
    play(&page).await;
    page.until("it waits", "return asked > 3").await;
    assert_eq!(page.status().await, "");
    page.js::<Value>("clock += 2000").await;
    page.until(
        "the message is shown",
        "return one('#status').textContent.includes('holding the sound back')",
    )
    .await;
}

async fn the_sound_is_saved(page: Page) {
    open(&page, LINE).await;
    page.js::<Value>(
        "const create = URL.createObjectURL;
        URL.createObjectURL = (blob) => (blob.arrayBuffer().then((file) => (window.file = new Uint8Array(file))), create(blob));",
    )
    .await;
    choose(&page, "wav-times", "2").await;
    page.click("one('#save-wav')").await;
    page.until("the file is there", "return window.file !== undefined").await;
    let (head, length): (String, f64) =
        page.js("return [String.fromCharCode(...file.slice(0, 4), ...file.slice(8, 12)), (file.length - 44) / 2 / 44100]").await;
    assert_eq!(head, "RIFFWAVE");
    // Two bars, twice, at 200, plus the time to die away.
    assert!((4.8..5.8).contains(&length), "{length} s");
    choose(&page, "wav-times", "0").await;
    page.click("one('#save-wav')").await;
    let said: String = page.js("return one('#status').textContent").await;
    assert_eq!(said, "The number of times must be a whole number from 1 to 99.");
}

/// The test's microphone is what the page itself plays: each note is heard where it was scheduled.
const HEAR_YOURSELF: &str = "
    const connect = AudioNode.prototype.connect;
    AudioNode.prototype.connect = function (to, ...rest) {
        if (to instanceof AudioDestinationNode) {
            window.ear = this.context.createMediaStreamDestination();
            connect.call(this, ear);
        }
        return connect.call(this, to, ...rest);
    };
    navigator.mediaDevices.getUserMedia = () => Promise.resolve(ear.stream);";

async fn a_microphone_hears_when_notes_start(page: Page) {
    open(
        &page,
        "tempo: 100\nfeel: swing 1.5\nrecast: split-last at 1.1\nC4 E G A  G E D C | D F A C  B A G F |\n",
    )
    .await;
    page.js::<Value>(HEAR_YOURSELF).await;
    page.click("one('#timing summary')").await;
    page.click("one('#microphone')").await;
    page.until("it listens", "return one('#timing-says').textContent.startsWith('Listening')").await;
    choose(&page, "count-in", "1").await;
    page.click("one('#again')").await;
    play(&page).await;
    page.until("the result is shown", "return one('#timing-says').textContent.startsWith('Take 1')").await;
    let told: String = page.js("return one('#timing-says').textContent").await;
    let words: Vec<&str> = told.split([' ', ',']).collect();
    let matched: usize = words[2].parse().unwrap();
    assert!(matched >= 15 && words[4] == "16", "{told}");
    let spread: f64 = told.split("(\u{B1} ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!(spread < 15.0, "{told}");
    let rows = "return all('#kept-rows th').map((name) => name.textContent)";
    assert_eq!(page.js::<Vec<String>>(rows).await, ["quarter-note triplet, last note split", "plain"]);
    // The microphone is released.
    page.click("one('#microphone')").await;
    page.until(
        "it stops listening",
        "return ear.stream.getTracks().every((track) => track.readyState === 'ended')",
    )
    .await;
}
