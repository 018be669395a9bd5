/** The service over the network: one request, and what a person is told when the answer is not the one asked for. */

const PATIENCE_MS = 60_000;
/** The longest that a service can ask to be left alone, s; a timer of more than 24 days would run at once. */
const LONGEST_S = 3600;
const KEPT = 'What you recorded is kept on this phone.';

/** Why an exchange could not be had: `offline`, `busy`, `out` (this phone is not known there), `version`, `fork`, `refused`. */
export class ServiceError extends Error {
    constructor(kind, message, after_s = 0) {
        super(message);
        this.kind = kind;
        this.after_s = after_s;
    }
}

/** Sends a request; returns the answer's text. */
export async function send(path, body, token, method = 'POST') {
    let answer, text;
    try {
        answer = await fetch(path, {
            method,
            body,
            headers: { ...(body && { 'content-type': 'application/json' }), ...(token && { authorization: `Bearer ${token}` }) },
            cache: 'no-store',
            redirect: 'manual',
            signal: AbortSignal.timeout(PATIENCE_MS),
        });
        text = await answer.text();
    } catch {
        throw new ServiceError('offline', `The server cannot be reached now. ${KEPT}`);
    }
    const kind = answer.headers.get('content-type') ?? '';
    if (answer.ok && kind.startsWith('application/json')) return text;
    if (answer.status === 204) return '';
    throw trouble(answer, kind, text);
}

function trouble(answer, kind, text) {
    const problem = kind.startsWith('application/problem+json') ? read(text) : null;
    if (!problem) return stranger(answer);
    const later = Math.min(Number(answer.headers.get('retry-after')) || 0, LONGEST_S);
    if (answer.status === 409 && problem.code === 'fork') return new ServiceError('fork', problem.detail);
    if (answer.status === 401 || problem.code === 'unknown_team' || problem.code === 'shut') {
        const told = problem.code === 'no_token' || problem.code === 'unknown_team'
            ? 'The server does not know this phone: a keeper of the team has shut it out, or the server was set up anew. Ask a keeper for a new invite.'
            : problem.detail;
        return new ServiceError('out', `${told} ${KEPT}`);
    }
    if (answer.status === 429 || answer.status === 503) return new ServiceError('busy', `${problem.detail} ${KEPT}`, later);
    if (answer.status >= 500) return new ServiceError('busy', `The server has trouble: ${problem.detail}. ${KEPT}`);
    if (problem.code === 'unknown_route' || problem.code === 'bad_json' || answer.status === 426) {
        return new ServiceError('version', `The server and this page are of different versions: update the older one. ${KEPT}`);
    }
    return new ServiceError('refused', problem.detail);
}

function stranger(answer) {
    if (answer.type === 'opaqueredirect' || answer.ok || answer.status === 511) {
        return new ServiceError('offline', `Something else answered in the server's stead: does this network ask you to log in first? ${KEPT}`);
    }
    if (answer.status >= 500) {
        return new ServiceError('busy', `The server does not answer now: what stands before it says so (status ${answer.status}). ${KEPT}`);
    }
    return new ServiceError('refused', `This address answered with status ${answer.status}, and not as a Sheaf server does. ${KEPT}`);
}

function read(text) {
    try {
        const problem = JSON.parse(text);
        return typeof problem?.detail === 'string' ? problem : null;
    } catch {
        return null;
    }
}
