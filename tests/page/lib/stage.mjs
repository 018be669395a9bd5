/** What most tests begin with: a service with a team, something between, and a phone that has come in and is shooting. */

import assert from 'node:assert/strict';
import { Chromium } from './chromium.mjs';
import { Front } from './front.mjs';
import { Hand } from './hand.mjs';
import { Service, team } from './programs.mjs';

/** A phone of the team behind a front. */
export class Stage {
    /** Starts the service, the front and a first phone. */
    static async set(options = {}) {
        const stage = new Stage();
        stage.service = await new Service().start();
        stage.keeper = await team(stage.service);
        stage.front = await new Front(stage.service.url).start();
        stage.hand = await stage.phone('Rowan', options);
        return stage;
    }

    /** Brings another phone into the team. */
    async phone(me, options = {}) {
        const browser = await new Chromium(options).start();
        (this.browsers ??= []).push(browser);
        const hand = new Hand(browser);
        await hand.join(this.front.url, (await this.keeper.json('invite')).code, me);
        return hand;
    }

    /** Shoots some arrows of an end, and leaves them in the draft. */
    async shooting(arrows = [[10, 10], [-20, 5], [0, -30]]) {
        await this.hand.begin();
        for (const mm of arrows) await this.hand.arrow(mm);
        return arrows.length;
    }

    /** Brings the phone level with the service, and checks that the team has so many groups, of so many arrows. */
    async holds(groups, arrows) {
        await this.hand.level();
        await this.keeper.sheaf('sync');
        const listed = await this.keeper.json('list', 'groups');
        assert.equal(listed.length, groups, 'groups that the team has');
        const [, ...rows] = (await this.keeper.sheaf('export', 'groups')).trim().split('\n');
        assert.equal(rows.length, arrows, 'arrows that the team has');
        assert.equal((await this.hand.ask('status')).digest, (await this.keeper.json('sync')).digest);
    }

    /** Ends all of it. */
    async clear() {
        for (const browser of this.browsers) await browser.close();
        await this.front.stop();
        await this.service.stop();
    }
}
