//! Fits the starting chances and prints the layer.
#[allow(clippy::print_stdout)]
fn main() {
    let dir = std::env::args().nth(1).expect("directory");
    let mut files =
        hardstart::knowledge::KnowledgeFiles::from_directory(std::path::Path::new(&dir))
            .expect("readable");
    for (name, text) in [
        (
            "checks.toml",
            "check = []\naccess = []\ntool = []\nhazard = []\n",
        ),
        ("repairs.toml", "repair = []\n"),
        ("vocabulary.toml", ""),
    ] {
        let f = files.files.iter_mut().find(|f| f.name == name).unwrap();
        f.text =
            format!("format = 1\n{text}[defaults]\nsource = \"own judgement\"\nstrength = 1.0\n");
    }
    let knowledge = hardstart::knowledge::load(&files).unwrap_or_else(|e| panic!("{e}"));
    let layer = hardstart::learning::fit_roots(&knowledge).expect("fits");
    print!("{}", hardstart::learning::root_layer_toml(&layer));
}
