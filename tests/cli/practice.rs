//! `thirdpull check` reads a teacher's practice files.

use std::process::Command;

#[test]
fn a_teachers_slip_is_named_with_line_and_column() {
    let place = tempfile::tempdir().expect("a temporary folder");
    let book = place.path().join("book");
    let run = |command: &str| {
        let run = Command::new(env!("CARGO_BIN_EXE_thirdpull"))
            .args([command, "--notebook"])
            .arg(&book)
            .output()
            .expect("the program runs");
        (run.status.code(), String::from_utf8_lossy(&run.stdout).into_owned())
    };
    assert_eq!(run("demo").0, Some(0));
    let folder = book.join("practice/coffees");
    std::fs::create_dir_all(&folder).expect("can be made");
    std::fs::write(folder.join("mine.ron"), "Coffee(name: \"Mine\", flow: 1.2)").expect("can be written");
    assert_eq!(run("check").0, Some(0), "{}", run("check").1);
    std::fs::write(folder.join("mine.ron"), "Coffee(\n  name: \"Mine\",\n  flow: 12,\n)")
        .expect("can be written");
    let (code, told) = run("check");
    assert_eq!(code, Some(1));
    assert!(told.contains("mine.ron:3:9") && told.contains("flow is 12"), "{told}");
}
