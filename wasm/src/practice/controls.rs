//! What the fields of the practice part say, as a plan.

use halfbar_core::Piece;
use halfbar_core::line::{Feel, Heading, NoteId, SwingRatio, Tempo};
use halfbar_core::perform::{self, Beats, Jumps, Metronome, Pace, Pass, Subdivision};
use halfbar_core::recast::{Casting, Spelling, Window};
use halfbar_core::swing;
use halfbar_core::time::{Duration, Onset, Span};
use halfbar_dom::form::{Told, chosen, entered, number, say, ticked};
use halfbar_dom::{Result, by_id};
use halfbar_words::practice as says;
use std::ops::Range;
use web_sys::{Element, HtmlInputElement, HtmlSelectElement};

use crate::page::between;
use halfbar_player::Plan;

/// What a pad stands for that is not recast.
const HALF_BAR: Duration = Duration::of(2, 1);

/// Above this tempo the short notes of the triplet figures last less than 100 ms: near the floor of what is played (Friberg and Sundström 2002,
/// from memory).
const FAST: u16 = 200;

/// The tempo that is asked for.
pub(super) fn tempo() -> Result<Told<Tempo>> {
    let number = number("tempo", says::TEMPO)?;
    Ok(number.and_then(|number| Tempo::new(number).ok_or(says::TEMPO_OUT_OF_REACH.into())))
}

/// How loud a part is, from 0 to 1.
pub(super) fn level(name: &str) -> Result<f32> {
    let on = ticked(&format!("hear-{name}"))?;
    let percent: u8 = entered(&format!("level-{name}"))?.parse().unwrap_or(0);
    Ok(if on { f32::from(percent.min(100)) / 100.0 } else { 0.0 })
}

fn feel() -> Result<Option<Feel>> {
    Ok(match chosen("feel")?.as_str() {
        "straight" => Some(Feel::Straight),
        "auto" => Some(Feel::SwingAuto),
        hundredths => hundredths.parse().ok().and_then(SwingRatio::from_hundredths).map(Feel::Swing),
    })
}

fn metronome() -> Result<Metronome> {
    let (beats, divide) = (chosen("beats")?, chosen("divide")?);
    Ok(Metronome {
        beats: Beats::ALL.into_iter().find(|one| one.name() == beats).unwrap_or_default(),
        divide: Subdivision::ALL.into_iter().find(|one| one.name() == divide),
        rests: ticked("rests")?,
    })
}

/// All that is asked for.
pub(super) fn plan(
    piece: &Piece,
    window: Option<Onset>,
    from: Option<NoteId>,
    pace: Vec<Pass>,
) -> Result<Told<Plan>> {
    let (tempo, stretch, versions) = (tempo()?, stretch(piece, window)?, versions(piece)?);
    let (feel, metronome, again) = (feel()?, metronome()?, ticked("again")?);
    let count_in = chosen("count-in")?.parse().unwrap_or(0);
    Ok((|| {
        let (tempo, stretch) = (tempo?, stretch?);
        let event = from.and_then(|note| piece.timed().events.iter().find(|event| event.id == note));
        let from = event.map(|event| event.onset).filter(|&onset| stretch.contains(onset));
        let from = from.unwrap_or(stretch.start());
        Ok(Plan { versions: versions?, stretch, from, again, tempo, feel, metronome, count_in, pace })
    })())
}

/// A plan for a line of its own, as the fields say otherwise.
pub(super) fn plan_of(piece: Piece) -> Result<Told<Plan>> {
    let stretch = between(piece.line(), Onset::ZERO, piece.line().end());
    let (tempo, feel, metronome) = (tempo()?, feel()?, metronome()?);
    let count_in = chosen("count-in")?.parse().unwrap_or(0);
    Ok((|| {
        let (tempo, stretch) = (tempo?, stretch?);
        let (versions, from, again) = (vec![piece], stretch.start(), true);
        Ok(Plan { versions, stretch, from, again, tempo, feel, metronome, count_in, pace: Vec::new() })
    })())
}

fn stretch(piece: &Piece, window: Option<Onset>) -> Result<Told<Span>> {
    let line = piece.line();
    Ok(match chosen("reach")?.as_str() {
        "bars" => {
            let (from, to) = (entered("first-bar")?, entered("last-bar")?);
            (|| {
                let first = line.bars().number(0);
                let bar = |text: &str| -> Told<Span> {
                    let number = text.parse::<usize>().ok().and_then(|number| number.checked_sub(first));
                    let number = number.filter(|number| *number < line.bar_count());
                    let last = first + line.bar_count() - 1;
                    let number = number.ok_or_else(|| says::bars_are(first, last))?;
                    line.bar(number).map_err(|error| error.to_string())
                };
                between(line, bar(&from)?.start(), bar(&to)?.end())
            })()
        }
        "window" => {
            let start = window.or(piece.casting().windows().first().map(|window| window.start));
            (|| {
                let start = start.ok_or(says::TAP_A_HALF_BAR_FIRST)?;
                let recast = piece.casting().at(start).and_then(Window::span);
                let end = match recast {
                    Some(span) => span.end(),
                    None => start.checked_add(HALF_BAR).map_err(|error| error.to_string())?,
                };
                between(line, start, end)
            })()
        }
        _ => between(line, Onset::ZERO, line.end()),
    })
}

/// The versions of the line that take turns.
fn versions(piece: &Piece) -> Result<Told<Vec<Piece>>> {
    let with = |casting: Casting| {
        Piece::after(piece, piece.line().clone(), casting).map_err(|error| error.to_string())
    };
    let spelled = |spelling: Spelling| {
        let mut casting = piece.casting().clone();
        for window in piece.casting().windows() {
            if window.figure.spellings().contains(&spelling) {
                casting.put(Window { spelling, ..window.clone() });
            }
        }
        with(casting)
    };
    Ok(match chosen("versions")?.as_str() {
        "plain" => (|| Ok(vec![with(piece.casting().cleared())?, piece.clone()]))(),
        "spelled" => (|| Ok(vec![spelled(Spelling::Bracket)?, spelled(Spelling::Tied)?]))(),
        _ => Ok(vec![piece.clone()]),
    })
}

/// Chooses what is played: the bars that are selected or else the selected half-bar; or all of the line, if that is chosen already.
pub(super) fn choose_reach(bars: bool) -> Result<()> {
    let (field, wanted): (HtmlSelectElement, _) = (by_id("reach")?, if bars { "bars" } else { "window" });
    field.set_value(if field.value() == wanted { "line" } else { wanted });
    Ok(())
}

/// Shows which bars of a line are selected, as those that are played.
pub(super) fn show_selected(selected: Option<(&Piece, Range<usize>)>) -> Result<()> {
    let field: HtmlSelectElement = by_id("reach")?;
    match selected {
        Some((piece, bars)) => {
            field.set_value("bars");
            for (id, bar) in [("first-bar", bars.start), ("last-bar", bars.end.saturating_sub(1))] {
                let number = piece.line().bars().number(bar);
                by_id::<HtmlInputElement>(id)?.set_value(&number.to_string());
            }
        }
        None if field.value() == "bars" => field.set_value("line"),
        None => {}
    }
    Ok(())
}

/// The bars that are played in a loop, by index; none where that is all of the line.
pub(crate) fn looped(piece: &Piece) -> Result<Option<Range<usize>>> {
    if chosen("reach")? != "bars" || !ticked("again")? {
        return Ok(None);
    }
    let first = piece.line().bars().number(0);
    let bar = |id| -> Result<Option<usize>> {
        Ok(entered(id)?.parse::<usize>().ok().and_then(|number| number.checked_sub(first)))
    };
    let (from, to) = (bar("first-bar")?, bar("last-bar")?);
    let bars = from.zip(to).map(|(from, to)| from..to.saturating_add(1).min(piece.line().bar_count()));
    Ok(bars.filter(|bars| !bars.is_empty()))
}

/// All of a line that was just opened is played.
pub(super) fn forget_bars() -> Result<()> {
    by_id::<HtmlSelectElement>("reach")?.set_value("line");
    by_id::<HtmlInputElement>("first-bar")?.set_value("1");
    by_id::<HtmlInputElement>("last-bar")?.set_value("");
    Ok(())
}

/// Chooses the next way for versions to take turns, and says which.
pub(super) fn choose_next_version() -> Result<String> {
    let field: HtmlSelectElement = by_id("versions")?;
    let next = (field.selected_index() + 1) % i32::try_from(field.length()).unwrap_or(1).max(1);
    field.set_selected_index(next);
    let option = field.query_selector("option:checked")?;
    Ok(says::version(option.and_then(|option| option.text_content()).unwrap_or_default()))
}

/// How much later a note would be in the plain rhythm, in quarter notes: with the feel that is played, and with even eighths.
pub(super) type Later = [f64; 2];

/// How much later each note of a version would be in the plain rhythm; nothing where that can't be told.
pub(super) fn plain(piece: &Piece, plan: &Plan) -> Vec<(NoteId, Later)> {
    let own = piece.line().heading();
    let feel = plan.feel.unwrap_or(own.feel);
    let starts = |piece: &Piece, feel: Feel| -> Option<Vec<(NoteId, f64)>> {
        let heading = Heading { tempo: plan.tempo, feel, ..own.clone() };
        let performed = swing::perform(piece.written(), &heading).ok()?;
        let notes = piece.timed().events.iter().zip(performed.starts());
        Some(notes.map(|(event, start)| (event.id, start.since_start().to_f64())).collect())
    };
    let plain = Piece::after(piece, piece.line().clone(), piece.casting().cleared()).ok();
    let plain = |feel| plain.as_ref().and_then(|plain| starts(plain, feel));
    let (Some(felt), Some(even), Some(recast)) = (plain(feel), plain(Feel::Straight), starts(piece, feel))
    else {
        return Vec::new();
    };
    let later = |&(note, start): &(NoteId, f64)| {
        let other = felt.binary_search_by_key(&note, |(note, _)| *note).ok()?;
        Some((note, [felt[other].1 - start, even[other].1 - start]))
    };
    recast.iter().filter_map(later).collect()
}

/// The tempos from slow to fast.
pub(super) fn pace() -> Result<Told<Vec<Pass>>> {
    let (from, to) = (number("pace-from", says::FIRST_TEMPO)?, number("pace-to", says::LAST_TEMPO)?);
    let (step, times) = (number("pace-step", says::STEP)?, number("pace-times", says::HOW_OFTEN_A_STEP)?);
    let jumps = match chosen("pace-jumps")?.as_str() {
        "over" => Jumps::Over,
        "back" => Jumps::Back,
        _ => Jumps::None,
    };
    Ok((|| {
        let tempo = |number: u16| Tempo::new(number).ok_or(says::TEMPO_OUT_OF_REACH);
        let small = |number: u16| u8::try_from(number).unwrap_or(u8::MAX);
        let pace = Pace::new(tempo(from?)?, tempo(to?)?);
        let (step, times) = (small(step?), small(times?));
        let pace = pace.per_cent(step).and_then(|pace| pace.repeats(times));
        let pace = pace.map_err(|error| error.to_string())?;
        Ok(pace.jumps(jumps).passes().collect())
    })())
}

/// What one of the versions that take turns is called; nothing where there is only one.
pub(super) fn version(index: usize, count: usize) -> Result<&'static str> {
    Ok(match chosen("versions")?.as_str() {
        "plain" if count > 1 => [says::ORIGINAL, says::RECAST][index % 2],
        "spelled" if count > 1 => [says::BRACKET, says::TIED][index % 2],
        _ => "",
    })
}

/// What a step of the plan says.
pub(super) fn step(pass: Pass) -> String {
    let Pass { tempo, step, steps, repeat, is_jump } = pass;
    let aside = if is_jump { says::A_JUMP } else { "" };
    says::step(step, steps, tempo, aside, repeat)
}

/// Shows what goes with what is chosen.
pub(super) fn show(piece: &Piece) -> Result<()> {
    let bars = chosen("reach")? == "bars";
    by_id::<Element>("which-bars")?.toggle_attribute_with_force("hidden", !bars)?;
    let (first, count) = (piece.line().bars().number(0), piece.line().bar_count());
    for id in ["first-bar", "last-bar"] {
        let field: HtmlInputElement = by_id(id)?;
        field.set_min(&first.to_string());
        field.set_max(&(first + count - 1).to_string());
    }
    let last: HtmlInputElement = by_id("last-bar")?;
    if last.value().is_empty() {
        last.set_value(&(first + count - 1).to_string());
    }
    let says = match (tempo()?, feel()?) {
        (Ok(tempo), feel) => {
            told(piece, tempo, feel.unwrap_or(piece.line().heading().feel), &chosen("versions")?)
        }
        (Err(_), _) => String::new(),
    };
    say("sounds-say", &says)
}

/// How it sounds, in words.
fn told(piece: &Piece, tempo: Tempo, feel: Feel, versions: &str) -> String {
    let ratio = perform::ratio(feel, tempo);
    let swing =
        SwingRatio::from_hundredths(whole(ratio * 100.0)).map_or(String::new(), |ratio| ratio.to_string());
    let mut told = match feel {
        Feel::Straight => says::STRAIGHT.to_string(),
        Feel::SwingAuto => says::swing_by_tempo(&swing),
        Feel::Swing(_) => says::swing(&swing),
    };
    if versions == "spelled" {
        let most = piece
            .casting()
            .windows()
            .iter()
            .filter_map(|window| perform::spelling_gap(&window.figure, tempo, ratio));
        let most = most.fold(None, |most: Option<perform::SpellingGap>, apart| {
            Some(most.filter(|most| most.ms >= apart.ms).unwrap_or(apart))
        });
        told += &match most {
            None => says::NO_TWO_SPELLINGS.to_string(),
            Some(apart) if whole(apart.ms) == 0 => says::SAME_SOUND.to_string(),
            Some(apart) => {
                let heard = if apart.is_heard() { says::HEARD } else { says::NOT_HEARD };
                says::apart(whole(apart.ms), heard)
            }
        };
    }
    if versions == "plain" && piece.casting().windows().is_empty() {
        told += says::NOTHING_RECAST;
    }
    if tempo.quarters_per_minute() > FAST {
        told += says::SHORT_NOTES;
    }
    told
}

/// Whole milliseconds, or hundredths of a ratio.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(value: f64) -> u16 {
    value.round() as u16
}
