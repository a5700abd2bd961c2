//! The settings file, right and wrong.
//!
//! Owns: every key, every fault with its caret, and that nothing secret is ever shown. Refuses: servers.

use crate::digest_facts::depot;
use pigtail::cli::complaint::Complaint;
use pigtail::cli::password::PasswordSource;
use pigtail::cli::settings::Settings;
use std::path::Path;

const WHOLE: &str = r#"
[mail]
server = "smtp.example.org"
port = 2525
security = "starttls"
user = "desk"
password = { env = "PIGTAIL_MAIL_PASSWORD" }
ca_file = "our-ca.pem"
sender = "desk@example.org"
sender_name = "Fleet desk"
reply_to = "yard@example.org"
list = "fleet-digest"
timeout_seconds = 20

[schedules]
default = "0 7 * * Mon"
HARBOR = "30 6 * * Tue"

[recipients]
HARBOR = ["boss@example.org", "ann@example.org"]
"MESA 2" = []
"#;

fn parse(text: &str) -> Result<Settings, String> {
    Settings::parse(text, Path::new("/etc/pigtail/config.toml")).map_err(|error| Complaint::from(error).to_string())
}

#[test]
fn a_whole_file() {
    insta::assert_debug_snapshot!(parse(WHOLE).unwrap());
}

#[test]
fn the_shortest_file() {
    let settings = parse("[mail]\nserver = \"smtp.example.org\"\nsender = \"desk@example.org\"\n").unwrap();
    assert_eq!((settings.mail.port, settings.mail.security.to_string().as_str()), (587, "starttls"));
    assert_eq!(settings.schedule_of(&"HARBOR".parse().unwrap()).as_str(), "0 7 * * Mon");
}

#[test]
fn ports_follow_the_link() {
    for (security, port) in [("implicit", 465), ("starttls", 587), ("plain", 25)] {
        let text = format!("[mail]\nserver = \"localhost\"\nsender = \"d@example.org\"\nsecurity = \"{security}\"\n");
        assert_eq!(parse(&text).unwrap().mail.port, port);
    }
}

#[test]
fn every_fault_is_pointed_at() {
    let mail = "[mail]\nserver = \"localhost\"\nsender = \"d@example.org\"\n";
    let with = |line: &str| format!("{mail}{line}\n");
    let cases = [
        String::new(),
        "[mail]\n".to_owned(),
        "mail = 3\n".to_owned(),
        "[mial]\nserver = \"x\"\n".to_owned(),
        with("port = 0\nsecurity = \"ssl\"\nlist = \"a b\"\nreply_to = \"nobody\""),
        with("port = \"25\"\ntimeout_seconds = 0\nsender_name = 7"),
        with("prot = 25"),
        with("user = \"desk\""),
        with("password = { env = \"X\" }"),
        with("security = \"plain\"\nuser = \"desk\"\npassword = { env = \"X\" }"),
        with("user = \"desk\"\npassword = { file = \"a\", env = \"X\" }"),
        with("user = \"desk\"\npassword = { command = \"pass show mail\" }"),
        with("user = \"desk\"\npassword = { command = [] }"),
        with("[schedules]\nHARBOR = \"0 7 * * Funday\"\n\"A=B\" = \"0 7 * * Mon\""),
        with("[recipients]\nHARBOR = \"boss@example.org\"\nMESA = [\"boss\", 3, \"ann@example.org\"]"),
        with("server = \"twice\""),
        "[mail]\nserver = \"smtp://example.org\"\nsender = \"d@example.org\"\n".to_owned(),
        with("ca_file = \"never ended"),
    ];
    let told: Vec<String> = cases
        .iter()
        .map(|text| match parse(text) {
            Ok(settings) => panic!("{text} was taken as {settings:?}"),
            Err(told) => told,
        })
        .collect();
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn what_could_be_a_secret_is_never_shown() {
    let lines = [
        "user = \"desk\"\npassword = \"hunter2\"",
        "user = \"desk\"\npasswrd = \"hunter2\"",
        "pw = \"hunter2\"",
        "user = \"desk\"\npassword = \"hunter2",
        "user = \"desk\"\npassword = \"\"\"\nhunter2\n[x = \"hunter2\"\n\"\"\"",
        "user = \"desk\"\npassword = hunter2",
        "user = \"desk\"\npassword = { env = \"A\", value = \"hunter2\" }",
        "user = \"desk\"\npassword = { plain = \"hunter2\" }",
        "user = \"desk\"\npassword = [\n\"hunter2\"\n]",
        "user = \"desk\"\npassword.value = \"hunter2\"",
        "\"password\" = \"hunter2\"",
        "[mail.password]\nvalue = \"hunter2\"",
        "[secret]\npassword = \"hunter2\"",
        "[schedules]\npassword = \"hunter2\"",
    ];
    for line in lines {
        let told = parse(&format!("[mail]\nserver = \"localhost\"\nsender = \"d@example.org\"\n{line}\n")).unwrap_err();
        assert!(!told.contains("hunter2"), "{line}\n{told}");
    }
}

#[cfg(unix)]
#[test]
fn passwords_come_from_where_they_are_kept() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, text: &str, mode: u32| {
        use std::os::unix::fs::PermissionsExt;
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(mode)).unwrap();
        PasswordSource::File(path)
    };
    let command = |argv: &[&str]| PasswordSource::Command(argv.iter().map(|word| (*word).to_owned()).collect());
    let good = [
        file("private", "  two words \nsecond line\n", 0o600),
        file("read-only", "  two words ", 0o400),
        command(&["printf", "  two words \nmore"]),
        // No shell: nothing in an argument is acted on.
        command(&["printf", "%s", "  two words "]),
    ];
    for source in good {
        assert_eq!(source.read().unwrap().reveal(), "  two words ", "{source:?}");
    }
    assert_eq!(command(&["printf", "%s", "$(id);`id`|x"]).read().unwrap().reveal(), "$(id);`id`|x");
    let bad = [
        file("exposed", "hunter2", 0o644),
        file("exposed-to-group", "hunter2", 0o640),
        file("empty", "\nhunter2\n", 0o600),
        PasswordSource::File(folder.path().join("absent")),
        PasswordSource::Environment("PIGTAIL_NO_SUCH_VARIABLE".to_owned()),
        command(&["false", "hunter2"]),
        command(&["/no/such/program", "hunter2"]),
        command(&["true"]),
    ];
    let told: Vec<String> = bad
        .iter()
        .map(|source| source.read().map(|_| ()).unwrap_err())
        .map(|error| format!("{error}\n  hint: {}", error.hint()).replace(folder.path().to_str().unwrap(), "FOLDER"))
        .collect();
    assert!(!told.join("").contains("hunter2"));
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn each_recipient_gets_one_digest_of_all_their_depots() {
    let mut settings = parse(WHOLE).unwrap();
    settings.recipients.insert("X".parse().unwrap(), vec!["a@b.example".parse().unwrap()]);
    let mut depots = ["HARBOR", "MESA 2", "NORTH", "WEST"].map(|code| depot(code, "")).to_vec();
    for (depot, to) in
        depots.iter_mut().zip(["gone@example.org", "gone@example.org", "boss@EXAMPLE.org", "north@example.org"])
    {
        depot.digest_to = vec![to.parse().unwrap(), to.parse().unwrap()];
    }
    let rounds: Vec<String> = settings
        .rounds(&depots)
        .iter()
        .map(|(to, depots)| {
            format!("{to}: {}", depots.iter().map(|depot| depot.depot.as_str()).collect::<Vec<_>>().join(" "))
        })
        .collect();
    assert_eq!(rounds, ["ann@example.org: HARBOR", "boss@example.org: HARBOR NORTH", "north@example.org: WEST"]);
    assert_eq!(settings.unknown_depots(&depots), [&"X".parse().unwrap()]);
}
