//! The line heard and practised.
//!
//! What is put on the audio clock is noted by a wrapper around `AudioBufferSourceNode.start`, so times are those that the browser gets.

use std::time::Duration;

use halfbar_core::{Piece, perform, read};
use serde_json::Value;

use crate::page::Page;

scenarios! {
    served (Served):
        every_note_is_put_on_its_exact_time, a_loop_goes_on_without_drift, the_tempo_changes_while_playing,
        the_playhead_goes_with_the_sound, versions_take_turns;
    from_disk (OneFile): every_note_is_put_on_its_exact_time;
}

const LINE: &str = "key: Eb\nmeter: 4/4\ntempo: 200\nfeel: swing auto\nrecast: split-last at 1.1 bracket\n\n\
                    @Fm7 F3 Ab C Eb  G F Eb C | @Bb7 D F Ab C  Bb Ab F D |\n";

/// Notes every start from now on: when, and how long the sound is.
const NOTE_STARTS: &str = "
    window.starts = [];
    const start = AudioBufferSourceNode.prototype.start;
    AudioBufferSourceNode.prototype.start = function (when) {
        starts.push([when, this.buffer.duration]);
        return start.call(this, when);
    };";

async fn open(page: &Page, line: &str) {
    page.open_with(1280, line).await;
    page.js::<Value>(NOTE_STARTS).await;
    page.click("one('#practice summary')").await;
    page.until("the module is there", "return one('#tempo').value !== ''").await;
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
    page.click("one('#practice [data-play]')").await;
}

/// When each of so many notes was to start, in seconds from the first.
async fn starts(page: &Page, count: usize) -> Vec<f64> {
    page.until("enough notes are on the clock", &format!("return starts.length >= {count}")).await;
    let starts: Vec<(f64, f64)> = page.js("return starts").await;
    starts[..count].iter().map(|start| start.0 - starts[0].0).collect()
}

/// When the notes of a line start as it is performed, in seconds.
fn performed(line: &str) -> Vec<f64> {
    let reading = read::text(line);
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    let sounds = perform::sounds(&piece).unwrap();
    sounds.iter().map(|sound| piece.performed.seconds(sound.start)).collect()
}

fn agree(found: &[f64], expected: &[f64]) {
    for (index, (found, expected)) in found.iter().zip(expected).enumerate() {
        assert!((found - expected).abs() < 0.0001, "note {index} starts at {found} s, not at {expected}");
    }
}

async fn every_note_is_put_on_its_exact_time(page: Page) {
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
    page.until("some notes are on the clock", "return starts.length >= 5").await;
    choose(&page, "tempo", "100").await;
    let starts = starts(&page, 14).await;
    let gaps: Vec<f64> = starts.windows(2).map(|pair| ((pair[1] - pair[0]) * 1000.0).round()).collect();
    // Eighths of 150 ms, and from some note on of 300.
    let slow = gaps.iter().position(|gap| *gap > 200.0).expect("it gets slower");
    assert!(slow >= 4, "{gaps:?}");
    assert!(gaps[..slow].iter().all(|gap| *gap == 150.0), "{gaps:?}");
    assert!(gaps[slow..].iter().all(|gap| *gap == 300.0), "{gaps:?}");
}

async fn the_playhead_goes_with_the_sound(page: Page) {
    open(&page, LINE).await;
    page.click("one('#hands summary')").await;
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
    // The line stands at the sounding note, and moves on.
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
    page.click("all('use', drawn('note').at(-1))[0]").await;
    page.click("one('#again')").await;
    play(&page).await;
    page.until("it has ended", "return starts.length > 0 && one('[data-play]').textContent === 'Play'").await;
    assert_eq!(page.js::<usize>("return starts.length").await, 1);
}

async fn versions_take_turns(page: Page) {
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
