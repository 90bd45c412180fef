use super::*;

/// `1` and `2` stand for "one" and "other" of the plural rules of English, and 2 to 4 for "few" of Czech
/// (Unicode CLDR, "Language Plural Rules").
#[test]
fn a_language_chooses_its_own_plural() {
    let text = "pulls = { $n ->\n    [one] { $n } tah\n    [few] { $n } tahy\n   *[other] { $n } tahů\n  }\n";
    let czech = Catalogue::read("cs", text).expect("sound");
    let said = |n: usize| czech.said("pulls", &[("n", FluentValueOf(n).into())]).expect("is there");
    assert_eq!([said(1), said(3), said(5), said(0)], ["1 tah", "3 tahy", "5 tahů", "0 tahů"]);
}

#[test]
fn a_message_is_written_as_it_reads_back() {
    for text in ["plain", " a { b } c ", "[x] .y *z", "“q” \\ \"w\"", "two\nlines", "= # - ?", "  ", "ends "]
    {
        let id = id_of(&["rule", "fast_and Sour", "2"]);
        assert_eq!(id, "rule-fast-and-sour-2");
        let file = Catalogue::read("nl", &written(&id, text)).expect("sound");
        assert_eq!(file.plain(&id), Some(text));
    }
}

struct FluentValueOf(usize);

impl From<FluentValueOf> for fluent_bundle::FluentValue<'static> {
    fn from(value: FluentValueOf) -> Self {
        Arg(&value.0).arg()
    }
}

#[test]
fn a_damaged_file_is_named_by_its_line() {
    let damage = Catalogue::read("nl", "a = een\nb = { $\n").expect_err("damaged");
    assert_eq!(damage.line, 2, "{damage}");
    let twice = Catalogue::read("nl", "a = een\nb = twee\na = drie\n").expect_err("twice");
    assert_eq!(twice.line, 3, "{twice}");
}

#[test]
fn what_a_language_lacks_stays_english() {
    let dutch = Box::leak(Box::new(Catalogue::read("nl", "language-name = Nederlands\n").expect("sound")));
    let id = "words-settings-language";
    put_for_thread(Some(dutch));
    let said = [word("language-name"), word(id)];
    put_for_thread(None);
    assert_eq!(said, ["Nederlands", word(id)]);
    assert_eq!(word(id), "Language");
    assert_eq!(word("no-such-message"), "no-such-message");
}

#[test]
fn the_made_up_language_is_longer_by_two_fifths() {
    let (mut before, mut after) = (0, 0);
    for line in ENGLISH.lines().filter(|line| !line.contains('{') && line.contains(" = ")) {
        let Some((id, _)) = line.split_once(" = ") else { continue };
        let (Some(english), Some(longer)) = (english().plain(id), made_up().plain(id)) else { continue };
        assert!(longer.starts_with('⟦') && longer.ends_with('⟧'), "{longer}");
        before += english.chars().count();
        after += longer.chars().count();
    }
    assert!(after as f64 > 1.4 * before as f64, "{before} letters became {after}");
}

#[test]
fn a_folder_of_languages_is_read_and_a_damaged_one_named() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("nl.ftl"), "language-name = Nederlands\n").expect("written");
    std::fs::write(folder.path().join("xx.ftl"), "a = {\n").expect("written");
    let all = languages(folder.path());
    let names: Vec<&str> = all.iter().map(|language| language.name.as_str()).collect();
    assert_eq!(names, ["English", "Nederlands", "xx"]);
    let damage = all[2].damage.as_deref().expect("damaged");
    assert!(damage.contains("xx.ftl, line "), "{damage}");
    assert!(choose(folder.path(), Some("xx")).is_err());
    assert_eq!(current().tag(), "en");
}
