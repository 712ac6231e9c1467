//! The selected note: played elsewhere on the neck, changed, or followed by new ones. Its pitch changes only where that is asked for.

use halfbar_core::Piece;
use halfbar_core::attack::Attack;
use halfbar_core::hand;
use halfbar_core::line::NoteId;
use halfbar_core::neck::{Fret, StringNo, Stroke};
use halfbar_core::pitch::{MidiKey, Pitch};
use halfbar_core::read;
use halfbar_core::technique::Pin;
use halfbar_core::write;
use halfbar_dom::form::{Told, chosen, sentence};
use halfbar_dom::{Result, thrown};
use halfbar_view::piece_of;
use halfbar_words::page as says;
use web_sys::KeyboardEvent;

use super::neck::{Place, Step};
use super::{Page, caret};

/// What a tap on the neck sounded: a key, and the string that it is on.
pub(super) type Heard = (MidiKey, StringNo);

impl Page {
    /// A note of the music was chosen: its bar comes to the neck, and the cursor of the text to its word.
    pub(super) fn select(&mut self, note: NoteId) -> Result<()> {
        let Some(piece) = &self.piece else { return Ok(()) };
        self.note = Some(note);
        let event = piece.timed().events.iter().find(|event| event.id == note);
        if let Some(event) = event {
            let (bar, _) = piece.timed().bars.split(event.onset).map_err(thrown)?;
            self.hands.go_to(bar);
        }
        if let Some(&spot) = read::text(&self.text.value()).spots.get(note.0 as usize) {
            caret::select(&self.text, spot, false)?;
            self.placed = true;
        }
        self.sheet.choose_note(Some(note))?;
        self.show_bar()
    }

    /// The pick stroke of a note is turned around.
    pub(super) fn turn_stroke(&mut self, note: NoteId) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else { return Ok(()) };
        let struck = |note| piece.fingering().attacks().of(note).and_then(Attack::stroke);
        let stroke = match struck(note) {
            Some(Stroke::Down) => Stroke::Up,
            _ => Stroke::Down,
        };
        let mut pins = vec![(note, Pin { stroke: Some(stroke), ..self.pin_of(note) })];
        // The next note keeps its stroke, or alternate picking would turn all that follow.
        let notes = piece.fingering().notes();
        let after = notes.iter().skip_while(|other| **other != note).skip(1);
        if let Some((next, stroke)) = after.copied().find_map(|next| Some((next, struck(next)?))) {
            pins.push((next, Pin { stroke: Some(stroke), ..self.pin_of(next) }));
        }
        let text = write::text::with_pins(&self.text.value(), &pins);
        match self.rewrite_if_right(&text)? {
            Ok(()) => self.say(&says::stroke_turned(stroke.name())),
            Err(why) => self.say(&sentence(&why)),
        }
        Ok(())
    }

    /// The selected note goes to the next string, towards the highest or the lowest one, if it can be played there.
    pub(crate) fn change_string(&mut self, higher: bool) -> Result<()> {
        let (Some(piece), Some(note)) = (self.piece.as_ref().filter(|_| self.right), self.note) else {
            self.say(says::SELECT_A_NOTE_FIRST);
            return Ok(());
        };
        let placement = piece.fingering().of(note);
        let key = self.pitch_of(note).and_then(Pitch::midi);
        let (Some(placement), Some(key)) = (placement, key) else { return Ok(()) };
        let string =
            if higher { placement.string.0.checked_sub(1) } else { placement.string.0.checked_add(1) };
        let there = piece.line().heading().neck.places(key).find(|(there, _)| Some(there.0) == string);
        match there {
            Some((string, fret)) => self.move_to(note, string, fret),
            None => {
                self.say(says::NO_STRING_THERE);
                Ok(())
            }
        }
    }

    /// Keys have come to the neck.
    pub(crate) fn come_to_neck(&mut self) -> Result<()> {
        let Some(piece) = &self.piece else { return Ok(()) };
        let bar = self.hands.bar(piece)?;
        let first =
            piece.line().events().iter().find(|event| bar.contains(event.onset) && event.pitch.is_some());
        let place = |note| piece.fingering().of(note).map(|fretting| (fretting.string, fretting.fret));
        self.hands.neck.enter(piece, self.note.and_then(place), first.and_then(|event| place(event.id)))
    }

    /// A key is pressed on the neck. Gives the place that it taps.
    pub(super) fn walk_neck(&mut self, event: &KeyboardEvent) -> Result<Option<Place>> {
        let Some(piece) = &self.piece else { return Ok(None) };
        let step = self.hands.neck.step(event, piece);
        if step.is_some() {
            event.prevent_default();
        }
        let (string, fret) = match step {
            Some(Step::Tapped(place)) => return Ok(Some(place)),
            Some(Step::Went(place)) => place,
            None => return Ok(None),
        };
        let sounding = piece.line().heading().neck.sounding(string, fret);
        let bar = piece.line().bars().split(self.hands.bar(piece)?.start()).map_err(thrown)?.0;
        let pitch = sounding.and_then(|key| piece.line().bars().key(bar).spell(key));
        self.show_hands()?;
        self.say(&says::at_place(string.0, fret.0, pitch.map_or(String::new(), |pitch| pitch.to_string())));
        Ok(None)
    }

    /// Does what is chosen with a place on the neck, and says what is heard there.
    pub(super) fn enter(&mut self, (string, fret): Place) -> Result<Option<Heard>> {
        self.hands.neck.go_to((string, fret));
        let Some(piece) = self.piece.as_ref() else { return Ok(None) };
        let Some(key) = piece.line().heading().neck.sounding(string, fret) else { return Ok(None) };
        match chosen("neck-does")?.as_str() {
            "write" => self.write_note(key, string, fret)?,
            _ if !self.right => self.say(says::FIX_THEN_TAP),
            "pitch" => self.change_pitch(string, fret)?,
            _ => match self.note {
                Some(note) if self.pitch_of(note).and_then(Pitch::midi) == Some(key) => {
                    self.move_to(note, string, fret)?;
                }
                Some(_) => self.say(says::ANOTHER_PITCH),
                None => self.say(says::SELECT_A_NOTE_FIRST),
            },
        }
        Ok(Some((key, string)))
    }

    fn pitch_of(&self, note: NoteId) -> Option<Pitch> {
        self.piece.as_ref()?.line().events().get(note.0 as usize)?.pitch
    }

    fn pin_of(&self, note: NoteId) -> Pin {
        let event = self.piece.as_ref().and_then(|piece| piece.line().events().get(note.0 as usize));
        event.map_or(Pin::default(), |event| event.pin)
    }

    /// Plays a note elsewhere. Where a position doesn't allow it, the note is an exception to the position.
    fn move_to(&mut self, note: NoteId, string: StringNo, fret: Fret) -> Result<()> {
        let (Some(piece), Some(pitch)) = (&self.piece, self.pitch_of(note)) else { return Ok(()) };
        let pin = Pin { string: Some(string), fret: Some(fret), finger: None, ..self.pin_of(note) };
        let source = self.text.value();
        let there = says::put_on(pitch, string.0, fret.0);
        let own = piece.line().events().get(note.0 as usize).and_then(|event| event.span().ok());
        let free = own.map(|own| hand::in_position(piece.line(), own, None));
        let free = free.and_then(|line| write::text::with_constraints(&source, &line).ok());
        let pinned = |text: &str| write::text::with_pins(text, &[(note, pin)]);
        let says = match (self.rewrite_if_right(&pinned(&source))?, free) {
            (Ok(()), _) => there,
            (Err(why), None) => sentence(&why),
            (Err(_), Some(free)) => match self.rewrite_if_right(&pinned(&free))? {
                Ok(()) => says::out_of_position(there),
                Err(why) => sentence(&why),
            },
        };
        // The cursor of the text stays with the selected note.
        self.note.map_or(Ok(()), |selected| self.select(selected))?;
        self.say(&says);
        Ok(())
    }

    /// Puts a text into the page if it can be read and played; else says what is wrong with it, and leaves the page as it is.
    fn rewrite_if_right(&mut self, text: &str) -> Result<Told<()>> {
        let reading = read::text(text);
        let wrong = reading.diagnostics.first().map(|wrong| wrong.problem.to_string());
        match (wrong, piece_of(&reading, self.piece.as_ref())) {
            (Some(why), _) => Ok(Err(why)),
            (None, Some(Err(why))) => Ok(Err(why.to_string())),
            (None, _) => self.rewrite(text).map(Ok),
        }
    }

    /// Writes a new note where the cursor of the text is, at the end if that is not in the music.
    fn write_note(&mut self, key: MidiKey, string: StringNo, fret: Fret) -> Result<()> {
        let source = self.text.value();
        let reading = read::text(&source);
        let cursor = if self.placed { caret::between_words(&self.text, &reading.spots)? } else { None };
        let at = cursor.unwrap_or(source.len());
        let bar = caret::bar_of(&reading, caret::place_of(&source, at)).unwrap_or(0);
        let signature = reading.line.as_ref().map(|line| line.bars().key(bar));
        let Some(pitch) = signature.unwrap_or_default().spell(key) else { return Ok(()) };
        let length = match chosen("note-length")?.as_str() {
            "1/2" => String::new(),
            length => format!(":{length}"),
        };
        let (before, after) = source.split_at(at);
        let has_notes = |row: usize| reading.spots.iter().any(|spot| spot.line == row);
        let apart = match () {
            () if before.is_empty() || before.ends_with('\n') => "",
            () if !has_notes(caret::place_of(&source, at).0) => "\n",
            () if before.ends_with(char::is_whitespace) => "",
            () => " ",
        };
        let word = format!("{apart}{pitch}{length}^{} ", Pin::at(string, fret));
        let end = at + word.len();
        let text = format!("{before}{word}{}", after.strip_prefix(' ').unwrap_or(after));
        self.note = None;
        self.rewrite(&text)?;
        self.placed = true;
        caret::go_to(&self.text, end)?;
        self.say(&says::put_on(pitch, string.0, fret.0));
        Ok(())
    }

    /// Puts another pitch in place of the note that the cursor of the text is at.
    fn change_pitch(&mut self, string: StringNo, fret: Fret) -> Result<()> {
        let Some(piece) = self.piece.as_ref() else { return Ok(()) };
        // A stray tap changes nothing.
        if !self.placed {
            self.say(says::SAY_WHERE_FIRST);
            return Ok(());
        }
        let cursor = caret::place(&self.text)?;
        let spots = read::text(&self.text.value()).spots;
        let at = spots.iter().position(|spot| (spot.line, spot.column + spot.length) > cursor);
        let at = at.unwrap_or(spots.len());
        let onset = piece.line().events().get(at).map_or(piece.line().end(), |event| event.onset);
        let (bar, _) = piece.line().bars().split(onset).map_err(thrown)?;
        let key = piece.line().bars().key(bar);
        let sounding = piece.line().heading().neck.sounding(string, fret);
        let Some(pitch) = sounding.and_then(|sounding| key.spell(sounding)) else { return Ok(()) };
        let note = NoteId(u32::try_from(at).unwrap_or(u32::MAX));
        let line = piece.line().with_note(note, pitch, Pin::at(string, fret)).map_err(thrown)?;
        match Piece::after(piece, line, piece.casting().clone()) {
            Ok(piece) => self.take(piece)?,
            Err(why) => {
                self.say(&format!("{why}."));
                return Ok(());
            }
        }
        self.hands.go_to(bar);
        let spots = read::text(&self.text.value()).spots;
        let next = spots.get(at + 1).copied().or(spots.last().map(|last| last.from(last.length, 1)));
        if let Some(next) = next {
            caret::select(&self.text, next, false)?;
        }
        self.say(&says::put_on(pitch, string.0, fret.0));
        self.show_hands()
    }
}
