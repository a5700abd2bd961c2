//! Rule packs, house rules and what is said about broken ones.

use pigtail::rules::parse_pack;

#[test]
fn packs() {
    for name in ["us", "ca", "de"] {
        let path = format!("schema/rules/{name}.toml");
        let text = std::fs::read_to_string(&path).unwrap();
        match parse_pack(&path, &text) {
            Ok(pack) => println!("{name}: {} rules {} bytes", pack.rules.len(), text.len()),
            Err(error) => panic!("{}\n{error}", error.snippet()),
        }
    }
}
