//! Times, requests and bytes of what a person waits for, with the real programs: `tests/measure` builds and runs it.

use sheaf_model::rng::{Rng, Seed};
use std::{
    fs,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};

fn main() {
    let folder = std::env::temp_dir().join(format!("sheaf-measure-{}", std::process::id()));
    fs::create_dir_all(&folder).expect("a folder can be made");
    println!("| what | 5,000 groups | 50,000 groups |\n| --- | --- | --- |");
    let small = season(&folder, 5_000);
    let large = season(&folder, 50_000);
    for ((what, a), (_, b)) in small.iter().zip(&large) {
        println!("| {what} | {a} | {b} |");
    }
    println!("\nThe machine's own pace, one core sorting 4,000,000 numbers: {}.", time(5, sort));
    let _ = fs::remove_dir_all(&folder);
}

/// Work that has nothing to do with Sheaf: it tells how quick the machine was while all this was measured.
fn sort() {
    let mut rng = Rng::new(Seed(4));
    let mut numbers: Vec<u64> = (0..4_000_000).map(|_| rng.next_u64()).collect();
    numbers.sort_unstable();
    std::hint::black_box(numbers);
}

/// Measures over a season of so many groups of six arrows with two bows, and returns what and how long.
fn season(folder: &Path, groups: usize) -> Vec<(String, String)> {
    let folder = folder.join(groups.to_string());
    fs::create_dir_all(&folder).expect("a folder can be made");
    let (ash, birch) = (folder.join("ash"), folder.join("birch"));
    run(&ash, &["start", "Pair", "--me", "Ash"]);
    run(&ash, &["add", "bow", "elm"]);
    run(&ash, &["add", "bow", "yew"]);
    let csv = folder.join("season.csv");
    write_csv(&csv, groups);
    let mut found = Vec::new();
    let file = csv.to_str().expect("a path in text");
    found.push(("import from CSV".into(), time(1, || drop(run(&ash, &["import", file])))));
    for day in (0..1000).step_by(50) {
        run(
            &ash,
            &["change", "elm", &format!("plunger={}", 2.0 + f64::from(day % 7) / 8.0), "--at", &at(day, 20)],
        );
    }
    let mut add = |what: &str, words: &[&str]| found.push((what.into(), time(7, || drop(run(&ash, words)))));
    add(
        "`sheaf shoot elm 30m 9@4:30 …`",
        &["shoot", "elm", "30m", "9@4:30", "X@12", "10@3", "8@7", "9@1", "M", "--face", "wa_80"],
    );
    add("`sheaf list groups`", &["list", "groups"]);
    add("`sheaf show elm`", &["show", "elm"]);
    add("`sheaf timeline elm`", &["timeline", "elm"]);
    add("`sheaf effects elm` (half of the groups, 20 changes)", &["effects", "elm"]);
    add("`sheaf analyse elm`", &["analyse", "elm"]);
    add("`sheaf change elm …`", &["change", "elm", "tiller=4"]);
    add("`sheaf differences`", &["differences"]);
    add("`sheaf report`", &["report"]);
    add("`sheaf export groups`", &["export", "groups"]);
    let service = Service::start(&folder);
    let key = fs::read_to_string(folder.join("server/founding-key")).expect("the founding key is there");
    let url = service.url.clone();
    found.push((
        "first sync, sending all".into(),
        time(1, || drop(run(&ash, &["connect", &url, "--key", key.trim()]))),
    ));
    let code: serde_json::Value = serde_json::from_str(&run(&ash, &["invite", "--json"])).expect("JSON");
    let code = code["code"].as_str().expect("a code").to_owned();
    let mut said = String::new();
    let took = time(1, || said = run(&birch, &["join", &url, &code, "--me", "Birch", "--json"]));
    found.push(("first sync, receiving all".into(), took));
    run(&birch, &["shoot", "elm", "30m", "9@4:30", "X@12", "10@3", "8@7", "9@1", "M", "--face", "wa_80"]);
    let began = Instant::now();
    let report: serde_json::Value = serde_json::from_str(&run(&birch, &["sync", "--json"])).expect("JSON");
    let took = began.elapsed();
    found.push((
        "sync of one more group".into(),
        format!(
            "{}, {} request, {} B out, {} B in",
            ms(took),
            report["requests"],
            report["bytes_out"],
            report["bytes_in"]
        ),
    ));
    drop(service);
    let _ = fs::remove_dir_all(&folder);
    found
}

struct Service {
    child: Child,
    url: String,
}

impl Service {
    fn start(folder: &Path) -> Self {
        let port_file = folder.join("address");
        let mut command = Command::new(program("sheafd"));
        command
            .args(["serve", "--listen", "127.0.0.1:0", "--data"])
            .arg(folder.join("server"))
            .arg("--port-file")
            .arg(&port_file)
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        let mut service = Self { child: command.spawn().expect("sheafd starts"), url: String::new() };
        let began = Instant::now();
        loop {
            if let Some(address) = fs::read_to_string(&port_file).ok().filter(|a| !a.trim().is_empty()) {
                service.url = format!("http://{}", address.trim());
                return service;
            }
            assert!(began.elapsed() < Duration::from_secs(20), "sheafd does not come up");
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn program(name: &str) -> PathBuf {
    let here = std::env::current_exe().expect("this program has a path");
    here.parent().expect("it lies in a folder").join(name)
}

fn run(home: &Path, words: &[&str]) -> String {
    let output = Command::new(program("sheaf"))
        .arg("--home")
        .arg(home)
        .args(words)
        .env("TZ", "UTC")
        .stdin(Stdio::null())
        .output();
    let output = output.expect("sheaf runs");
    assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("text")
}

/// Returns the median of several runs.
fn time(runs: usize, mut work: impl FnMut()) -> String {
    let mut took: Vec<Duration> = (0..runs)
        .map(|_| {
            let began = Instant::now();
            work();
            began.elapsed()
        })
        .collect();
    took.sort();
    ms(took[runs / 2])
}

fn ms(took: Duration) -> String {
    match took.as_secs_f64() {
        s if s >= 1.0 => format!("{s:.1} s"),
        s => format!("{:.0} ms", s * 1000.0),
    }
}

fn write_csv(path: &Path, groups: usize) {
    let mut rng = Rng::new(Seed(3));
    let mut text = String::from(
        "at,bow,distance_m,face,end,x1_mm,y1_mm,x2_mm,y2_mm,x3_mm,y3_mm,x4_mm,y4_mm,x5_mm,y5_mm,x6_mm,y6_mm\n",
    );
    for n in 0..groups {
        let bow = if n % 2 == 0 { "elm" } else { "yew" };
        let day = n * 1000 / groups;
        text += &format!("{},{bow},30,wa_80,{n}", at(day as u32, (n % 60) as u32));
        for _ in 0..12 {
            text += &format!(",{:.1}", rng.normal() * 30.0);
        }
        text.push('\n');
    }
    fs::write(path, text).expect("it can be written");
}

fn at(day: u32, minute: u32) -> String {
    let (year, rest) = (2023 + day / 336, day % 336);
    format!("{year}-{:02}-{:02}T10:{minute:02}:00Z", 1 + rest / 28, 1 + rest % 28)
}
