use super::*;

fn degrees(text: &str) -> String {
    match text.parse::<Quality>() {
        Ok(quality) => quality.degrees().map(|degree| degree.to_string()).collect::<Vec<_>>().join(" "),
        Err(error) => panic!("{text}: {error}"),
    }
}

/// Every quality there is: each set of degrees that `Quality::new` takes.
fn all() -> impl Iterator<Item = Quality> {
    (0u32..1 << (Degree::ALL.len() - 1)).filter_map(|bits| {
        let chosen = Degree::ALL.into_iter().skip(1).enumerate();
        Quality::new(chosen.filter(|(bit, _)| bits >> bit & 1 == 1).map(|(_, degree)| degree)).ok()
    })
}

/// The ways to write a chord that Brandt & Roemer (1976) and Harte et al. (ISMIR 2005) list, from memory, and others in use; what they mean
/// is common practice, no source. `tests/outside.rs` holds most of it against music21.
#[test]
fn qualities_are_read() {
    for (ways, wanted) in [
        (" maj Maj MAJ ma MA M", "1 3 5"),
        ("m mi min - Min MI −", "1 b3 5"),
        ("dim o ° º mb5 m-5 -(b5)", "1 b3 b5"),
        ("aug + (#5) (+5) ♯5 maj(#5)", "1 3 #5"),
        ("5", "1 5"),
        ("sus sus4 (sus4)", "1 4 5"),
        ("sus2", "1 2 5"),
        ("6 maj6 M6 ma6", "1 3 5 6"),
        ("m6 -6 mi6 min6", "1 b3 5 6"),
        ("69 6/9 6(9) 6(add9) maj69 M6/9", "1 3 5 6 9"),
        ("m69 m6/9 -69", "1 b3 5 6 9"),
        ("7", "1 3 5 b7"),
        ("maj7 Maj7 MAJ7 ma7 M7 Δ △ ∆ ^ Δ7 △7 ^7 (maj7)", "1 3 5 7"),
        ("m7 mi7 min7 -7 Mi7 −7", "1 b3 5 b7"),
        ("m(maj7) mM7 -△7 -Δ mmaj7 min(maj7) -(M7) -^ miMA7 m(△)", "1 b3 5 7"),
        ("m7b5 -7b5 m7-5 ø ø7 Ø Ø7 m7(b5) min7♭5", "1 b3 b5 b7"),
        ("dim7 o7 °7", "1 b3 b5 bb7"),
        ("dim(maj7) oM7 °△", "1 b3 b5 7"),
        ("+7 aug7 7#5 7+5 7(#5) 7♯5", "1 3 #5 b7"),
        ("7b5 7-5 7(b5)", "1 3 b5 b7"),
        ("maj7#5 M7+5 +M7 +△7 aug(maj7) △#5", "1 3 #5 7"),
        ("9 7(9)", "1 3 5 b7 9"),
        ("maj9 ma9 △9 maj7(9)", "1 3 5 7 9"),
        ("m9 -9 m7(9)", "1 b3 5 b7 9"),
        ("m(maj9) mM9 -△9", "1 b3 5 7 9"),
        ("ø9 m9b5", "1 b3 b5 b7 9"),
        ("11", "1 3 5 b7 9 11"),
        ("m11 -11 m9(11) m7(9,11)", "1 b3 5 b7 9 11"),
        // The 11 of a 13 is left out over a major third.
        ("13 9(13) 7(9,13) 13(no11)", "1 3 5 b7 9 13"),
        ("maj13 Ma13 M13", "1 3 5 7 9 13"),
        ("m13 -13", "1 b3 5 b7 9 11 13"),
        ("7b9 7-9 7(b9) 7(-9) 7♭9", "1 3 5 b7 b9"),
        ("7#9 7+9 7(#9)", "1 3 5 b7 #9"),
        ("7b9b13 7(b9,b13) 7(b9)(b13) 7-9-13 7(b9/b13)", "1 3 5 b7 b9 b13"),
        ("7(b9)(#11) 7b9#11", "1 3 5 b7 b9 #11"),
        ("7#9#5 +7#9", "1 3 #5 b7 #9"),
        ("7b9#9", "1 3 5 b7 b9 #9"),
        ("7b5#5", "1 3 b5 #5 b7"),
        ("13b9 7b9(13)", "1 3 5 b7 b9 13"),
        ("13#11", "1 3 5 b7 9 #11 13"),
        ("m13#11", "1 b3 5 b7 9 #11 13"),
        ("9#11", "1 3 5 b7 9 #11"),
        ("9b13", "1 3 5 b7 9 b13"),
        ("maj7#11 △#11 maj7(#11)", "1 3 5 7 #11"),
        ("6#11", "1 3 5 6 #11"),
        ("7alt alt 7(alt)", "1 3 b5 b7 b9 #9 b13"),
        ("7sus 7sus4 sus7", "1 4 5 b7"),
        ("7sus2", "1 2 5 b7"),
        ("9sus 9sus4 sus9 11sus", "1 4 5 b7 9"),
        ("13sus 13sus4", "1 4 5 b7 9 13"),
        ("7sus4b9 7b9sus 7susb9", "1 4 5 b7 b9"),
        ("maj7sus4", "1 4 5 7"),
        ("6sus", "1 4 5 6"),
        ("add9 (add9) add2 (add2)", "1 3 5 9"),
        ("madd9 m(add9) -add9 miadd9", "1 b3 5 9"),
        ("Madd9 Maadd9 maj(add9)", "1 3 5 9"),
        ("add11 add4", "1 3 5 11"),
        ("add#11 (add#11)", "1 3 5 #11"),
        ("7(add13) 7(13)", "1 3 5 b7 13"),
        ("(no3) no3 omit3", "1 5"),
        ("omit5 no5", "1 3"),
        ("7omit5 7(no5)", "1 3 b7"),
        ("7no3no5", "1 b7"),
        ("m9no5", "1 b3 b7 9"),
        ("dim7(no5)", "1 b3 bb7"),
    ] {
        // The empty way is a major triad.
        for way in ways.split(' ') {
            assert_eq!(degrees(way), wanted, "{way}");
        }
    }
}

/// What is refused, for one reason each. Common practice, no source.
#[test]
fn qualities_are_refused_with_a_remedy() {
    for (ways, says) in [
        ("2", "`2` can mean `sus2` or `add9`"),
        ("4", "`4` can mean `sus4` or `add11`"),
        ("7+ maj7+", "`+` can mean `7#5` or `maj7`"),
        ("dim6", "`dim6` can mean `dim7` or `m6`"),
        ("dim9", "can mean `dim7(add9)` or `m9b5`"),
        ("7maj7 maj7(maj7) 7M7 7△ 6maj7 m7(maj7)", "is a second sixth or seventh"),
        ("6(7) ømaj7 ø6 △6 mmaj6 69(7)", "is a second sixth or seventh"),
        ("maj7alt malt 9alt m7alt altb9 7susalt 13alt altalt", "write just `7alt`"),
        ("m7sus msus dimsus m7sus4 5sus øsus", "write `7sus`"),
        ("7b9b9 9b9 69b9 9(add9) 7(9)(9)", "the 9 is already there"),
        ("11#11 7#11#11", "the 11 is already there"),
        ("13b13 13(13)", "the 13 is already there"),
        ("+7#5 dimb5 øb5 +b5 5b5", "the 5 is already there"),
        ("sus4sus4", "the 4 is already there"),
        ("sus2sus4", "`2` or `4`"),
        ("7(9)b9", "`9` or `b9`"),
        ("m7#9 m(maj7)#9", "`b3` and `#9` are the same sound"),
        ("7b5#11 m7b5#11", "`b5` and `#11` are the same sound"),
        ("7#5b13 +7b13", "`#5` and `b13` are the same sound"),
        ("9sus2", "`2` and `9` are the same sound"),
        ("7sus(11)", "`4` and `11` are the same sound"),
        ("6add13 6(13)", "`6` and `13` are the same sound"),
        ("3 8 10 12 14 15 add3 add5 add8 7b8 7#12 79", "a chord has no "),
        ("7b10", "a chord has no b10: write `#9`"),
        ("7#4", "a chord has no #4: write `#11`"),
        ("7b6", "write `b13`"),
        ("(b3)", "write `m`"),
        ("add6", "write `6`"),
        ("(b9) susb9 m(b9)", "write `7(b9)`, or `addb9`"),
        ("(#11) maj#11", "write `7(#11)`, or `add#11`"),
        ("(9)", "write `7(9)`, or `add9`"),
        ("mM mmaj +maj dimM", "such as `m(maj7)`"),
        ("maj5 m5 -5 +5", "`5` means just a root and its fifth"),
        ("lah7 7lah dom7 7x", "has no meaning in a chord symbol"),
        ("7- 7m 7,b9 7/9 7dim m+", "can't be here"),
        ("7(b9 7b9) 7() 7((b9))", "parentheses come in pairs"),
        ("7no2 no4 susno3 13no13 5no3 9no11 no1", "to leave out"),
        ("5no5", "one note besides its root"),
    ] {
        for way in ways.split(' ') {
            match way.parse::<Quality>() {
                Ok(quality) => panic!("{way} is read as {quality:?}"),
                Err(error) => assert!(error.to_string().contains(says), "{way}: {error}"),
            }
        }
    }
}

/// Each of these sounded, was said or was drawn wrong by one of several readers.
#[test]
fn what_was_wrong_once() {
    let guides = |text: &str| text.parse::<Quality>().unwrap().guide_tones().map(|degree| degree.to_string());
    assert_eq!(guides("△7"), ["3", "7"]);
    assert_eq!(guides("ma13"), ["3", "7"]);
    assert_eq!(guides("Ø7"), ["b3", "b7"]);
    assert_eq!(guides("mi7"), ["b3", "b7"]);
    assert_eq!(guides("omit5"), ["3", "1"]);
    assert_eq!(guides("madd9"), ["b3", "5"]);
    assert_eq!(guides("dim"), ["b3", "b5"]);
}

/// Common practice, no source.
#[test]
fn guide_tones_are_third_and_seventh_or_what_is_there_for_them() {
    for (quality, wanted) in [
        ("", ["3", "5"]),
        ("m", ["b3", "5"]),
        ("+", ["3", "#5"]),
        ("5", ["5", "1"]),
        ("maj7", ["3", "7"]),
        ("m7b5", ["b3", "b7"]),
        ("o7", ["b3", "bb7"]),
        ("7alt", ["3", "b7"]),
        ("7#9#5", ["3", "b7"]),
        ("6/9", ["3", "6"]),
        ("m6", ["b3", "6"]),
        ("7sus4", ["4", "b7"]),
        ("sus2", ["2", "5"]),
        ("m(maj7)", ["b3", "7"]),
        ("13", ["3", "b7"]),
        ("add9", ["3", "5"]),
        ("7no3", ["b7", "5"]),
    ] {
        let guides = quality.parse::<Quality>().unwrap().guide_tones();
        assert_eq!(guides.map(|degree| degree.to_string()), wanted, "{quality}");
    }
}

/// The random law would be this one with fewer cases: there are few enough qualities to try all.
#[test]
fn every_quality_is_written_and_read_back() {
    let (mut count, mut longest) = (0, 0);
    let root: PitchName = "C".parse().unwrap();
    for quality in all() {
        let text = quality.to_string();
        assert_eq!(text.parse(), Ok(quality), "{text}");
        // Behind a root, too: no sign of the quality becomes the root's.
        let chord = ChordSymbol::Chord(Chord::new(root, quality, None));
        assert_eq!(chord.to_string().parse::<ChordSymbol>().as_ref(), Ok(&chord), "{chord}");
        // The form says all of it.
        let Form { triad, seventh, extension, alterations, added, omitted } = quality.form();
        let altered = |degree: &Degree| alterations.iter().any(|other| other.number() == degree.number());
        let stacked = quality::stack(triad, extension).iter().filter(|degree| !altered(degree));
        let kind = triad.degrees().iter().filter(|degree| !omitted.contains(degree) && !altered(degree));
        let all = kind.chain(&seventh).chain(stacked).chain(&alterations).chain(&added).copied();
        assert_eq!(Quality::new(all), Ok(quality), "{text}");
        assert!(added.iter().all(|degree| degree.number() > 7), "{text}");
        count += 1;
        longest = longest.max(text.len());
    }
    println!("{count} qualities, the longest of {longest} letters");
    assert!(count > 2_000 && longest <= LONGEST_QUALITY);
}

#[test]
fn symbols_fall_into_parts() {
    let parts = |text: &str| {
        let symbol: ChordSymbol = text.parse().unwrap();
        let chord = symbol.chord().unwrap();
        (chord.root().to_string(), chord.suffix().to_string(), chord.bass().map(|bass| bass.to_string()))
    };
    for (text, root, suffix, bass) in [
        ("C6/9", "C", "6/9", None),
        ("C6/9/E", "C", "6/9", Some("E")),
        ("F#m7b5", "F#", "m7b5", None),
        ("B♭7♭9/D", "Bb", "7b9", Some("D")),
        ("C7(b9/b13)", "C", "7(b9/b13)", None),
        ("C7(b9/b13)/E♭", "C", "7(b9/b13)", Some("Eb")),
        ("F𝄪°7/G♯", "F##", "°7", Some("G#")),
    ] {
        assert_eq!(parts(text), (root.into(), suffix.into(), bass.map(String::from)), "{text}");
    }
    assert_eq!("NC".parse(), Ok(ChordSymbol::NoChord));
    assert_eq!("N.C.".parse(), Ok(ChordSymbol::NoChord));
}

/// German and Dutch names are common practice, no source.
#[test]
fn other_names_get_advice() {
    for (text, instead) in [
        ("Hm7", Some("Bm7")),
        ("hm7b5", Some("Bm7b5")),
        ("fism7", Some("F#m7")),
        ("am7", Some("Am7")),
        ("bb7", Some("Bb7")),
        ("es", Some("Eb")),
        ("C/H", Some("C/B")),
        ("C/fis", Some("C/F#")),
        ("Asmaj7/Es", Some("Abmaj7/Eb")),
        ("Q7", None),
        ("C/x", None),
        ("", None),
        ("X", None),
    ] {
        let error = ChordError::symbol(text, instead.map(String::from));
        assert_eq!(text.parse::<ChordSymbol>(), Err(error), "{text}");
    }
    // These have a root, so that they stand; their letters say nothing.
    for (text, instead) in [("Besm7", "Bbm7"), ("Es7", "Eb7"), ("Asmaj7/G", "Abmaj7/G"), ("Cis", "C#")] {
        let symbol: ChordSymbol = text.parse().unwrap();
        let error = ChordError::symbol(text, Some(instead.into()));
        assert_eq!(symbol.chord().unwrap().quality(), Err(&error), "{text}");
    }
    // No name of another kind is seen where there is none.
    for text in ["Esus", "Asus4", "Asus2/E"] {
        assert!(text.parse::<ChordSymbol>().unwrap().chord().unwrap().quality().is_ok(), "{text}");
    }
}
