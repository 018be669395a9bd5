//! What every operation takes and answers.

/// An operation.
pub struct Operation {
    /// Its method.
    pub method: &'static str,
    /// Its path, with parameters in braces.
    pub path: &'static str,
    /// What it is for.
    pub summary: &'static str,
    /// Whether it needs a token.
    pub token: bool,
    /// The shape of the body it takes.
    pub takes: Option<&'static str>,
    /// What may stand behind the path's question mark, with what it means.
    pub query: &'static [(&'static str, &'static str)],
    /// What it answers.
    pub answer: Answer,
    /// What the answer says.
    pub says: &'static str,
}

/// What an operation answers when all is well.
#[derive(Clone, Copy)]
pub enum Answer {
    /// Nothing.
    Nothing,
    /// Something that was made.
    Created(&'static str),
    /// Records.
    Json(&'static str),
    /// Records, or a table.
    JsonOrCsv(&'static str),
    /// Server-sent events.
    Events,
    /// What the service counts, as OpenMetrics text.
    Metrics,
}

const fn open(method: &'static str, path: &'static str, summary: &'static str) -> Operation {
    Operation {
        method,
        path,
        summary,
        token: false,
        takes: None,
        query: &[],
        answer: Answer::Nothing,
        says: "Done",
    }
}

const fn with_token(method: &'static str, path: &'static str, summary: &'static str) -> Operation {
    Operation { token: true, ..open(method, path, summary) }
}

impl Operation {
    const fn takes(self, shape: &'static str) -> Self {
        Self { takes: Some(shape), ..self }
    }

    const fn asks(self, query: &'static [(&'static str, &'static str)]) -> Self {
        Self { query, ..self }
    }

    const fn answers(self, answer: Answer, says: &'static str) -> Self {
        Self { answer, says, ..self }
    }
}

/// Every operation of the service.
#[rustfmt::skip]
pub const OPERATIONS: &[Operation] = &[
    open("GET", "/v1/health", "Tells whether the service takes and gives")
        .answers(Answer::Json("Health"), "It does; 503 with the same shape when writing has stopped"),
    open("GET", "/v1/ready", "Tells whether entries would be kept now: the journal can be written, the index is level")
        .answers(Answer::Json("Ready"), "They would; 503 says why not"),
    open("GET", "/v1/metrics", "Gives what the service counts of itself, to its own machine or for the founding key as bearer")
        .answers(Answer::Metrics, "The text format of OpenMetrics 1.0"),
    open("GET", "/v1/openapi.json", "Describes the interface")
        .answers(Answer::Json("Any"), "This document"),
    open("POST", "/v1/teams", "Moves a team onto this service, with its founding key")
        .takes("FoundRequest").answers(Answer::Created("Admitted"), "The founder's device is in, as a keeper's"),
    open("POST", "/v1/join", "Comes in with an invite, which is used up")
        .takes("JoinRequest").answers(Answer::Created("Admitted"), "The device is in"),
    with_token("POST", "/v1/teams/{team}/invites", "Invites someone; keepers only")
        .takes("InviteRequest").answers(Answer::Created("InviteReply"), "The code to pass on"),
    with_token("POST", "/v1/teams/{team}/devices", "Goes on under a new device id after a fork")
        .takes("RenewRequest").answers(Answer::Created("Admitted"), "The new device id is in, for the same person"),
    with_token("GET", "/v1/teams/{team}/devices", "Lists the devices of the team; keepers only")
        .answers(Answer::Json("Devices"), "The devices, those shut out included"),
    with_token("DELETE", "/v1/teams/{team}/devices/{device}", "Shuts a device out at once; keepers only")
        .answers(Answer::Nothing, "It is shut out"),
    with_token("PUT", "/v1/teams/{team}/people/{person}/role", "Gives a person a role; keepers only")
        .takes("GiveRole").answers(Answer::Nothing, "The person has the role"),
    with_token("POST", "/v1/teams/{team}/exchange", "Exchanges entries: a page each way, durable when answered")
        .takes("ExchangeRequest").answers(Answer::Json("ExchangeReply"), "What the device lacks, and how far the service has come"),
    with_token("GET", "/v1/teams/{team}/arrows", "Lists the arrow sets of the team with their single arrows; as a table, a row a set and one an arrow")
        .answers(Answer::JsonOrCsv("Sets"), "The sets"),
    with_token("GET", "/v1/teams/{team}/arrows/{set}", "Gives one arrow set with its arrows by number; the set by id or name")
        .answers(Answer::JsonOrCsv("ArrowSet"), "The set"),
    with_token("GET", "/v1/teams/{team}/bows", "Lists the bows of the team")
        .answers(Answer::JsonOrCsv("Bows"), "The bows"),
    with_token("GET", "/v1/teams/{team}/bows/{bow}/setups", "Tells what was on a bow from change to change; the bow by id or name")
        .answers(Answer::JsonOrCsv("Setups"), "The setups, oldest first"),
    with_token("GET", "/v1/teams/{team}/bows/{bow}/groups", "Lists the groups shot with a bow; as a table, a row an arrow")
        .answers(Answer::JsonOrCsv("Groups"), "The groups, oldest first"),
    with_token("GET", "/v1/teams/{team}/bows/{bow}/effects", "Tells what each change of a bow did to the groups, archer by archer")
        .answers(Answer::JsonOrCsv("BowEffects"), "The effects"),
    with_token("GET", "/v1/teams/{team}/bows/{bow}/wear", "Tells how many arrows each part of a bow has seen, and which reminders are due")
        .answers(Answer::JsonOrCsv("Wear"), "A row a part, in the order in which a bow is put together"),
    with_token("GET", "/v1/teams/{team}/bows/{bow}/curves", "Tells what a bow's latest draw curve says; as a table, a row a point of every curve")
        .answers(Answer::JsonOrCsv("Curves"), "The latest curve, and all of them"),
    with_token("GET", "/v1/teams/{team}/bows/{bow}/pairs", "Tells how the team's limbs sit on a bow's riser, and the settings to go to")
        .answers(Answer::JsonOrCsv("Pairs"), "A row a pair of limbs"),
    with_token("GET", "/v1/teams/{team}/bows/{bow}/marks", "Tells the mark of any distance with a bow, archer by archer, and which have grown stale")
        .answers(Answer::JsonOrCsv("BowMarks"), "The marks; as a table, a row a distance, and the marks as noted where no curve goes through them"),
    with_token("GET", "/v1/teams/{team}/parts", "Lists the parts: what is known of each, its maker's limits, where it is and was")
        .answers(Answer::JsonOrCsv("Parts"), "The parts, sort by sort"),
    with_token("GET", "/v1/teams/{team}/people/{person}/fits", "Tells what fits a person, and what the team's own parts make of it; the person by id or name")
        .answers(Answer::JsonOrCsv("Fits"), "What fits; as a table, a row a riser with limbs, best first"),
    with_token("GET", "/v1/teams/{team}/bows/{bow}/rebuild", "Tells how a bow is put back as it was, setting by setting in the order of the work")
        .asks(&[("baseline", "The baseline to come back to, by id or name; what was noted last when left out"), ("units", "metric, as when left out, or imperial")])
        .answers(Answer::JsonOrCsv("RebuildSheet"), "The sheet"),
    with_token("GET", "/v1/teams/{team}/report", "Gives the team's figures: who needs a look, and why")
        .answers(Answer::JsonOrCsv("Report"), "A row an archer and bow"),
    with_token("GET", "/v1/teams/{team}/events", "Tells of every commit of the team as it happens")
        .answers(Answer::Events, "`state` first, then a `commit` each with {entries, added, digest, bows}; `missed` when some were lost"),
    open("GET", "/v1/compute", "Lists the methods of the compute door")
        .answers(Answer::Json("Methods"), "The methods, with their help"),
    with_token("POST", "/v1/compute/{method}", "Runs a method on an input; 422 says what is wrong with the input")
        .takes("Any").answers(Answer::Json("Any"), "The method's output"),
];
