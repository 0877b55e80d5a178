// The places of the screen at the rig; none of them moves while a run is made, and what matters while
// hammering fits on one screen: what runs, level and trace on one side, state and button on the other.
const LIVE = `
  <section class="trace" aria-label="Live trace">
    <dl class="readouts">
      <div><dt>Level, {{ (said.live && said.live.level_unit) || unit || 'reading' }}<template v-if="said.run">, {{ said.run.limit.most ? said.run.limit.what.toLowerCase() + ' ' + said.run.limit.most : 'not watched for overload' }}</template></dt><dd :class="{ beyond: said.live && said.live.beyond }">{{ said.live ? said.live.level : '–' }}</dd></div>
      <div><dt>Score, {{ (said.live && said.live.score_unit) || unit || 'reading' }}</dt><dd>{{ said.live ? said.live.score : '–' }}</dd></div>
      <div><dt>{{ said.live && said.live.of ? 'Time of ' + said.live.of : 'Time, s' }}</dt><dd>{{ said.live ? said.live.elapsed : '–' }}</dd></div>
    </dl>
    <div class="plot" ref="plot" role="img" :aria-label="'Live trace in ' + unit + ' over time in seconds, over the band of earlier runs of the article'"></div>
    <p class="key quiet"><span><span class="swatch trace-swatch" aria-hidden="true"></span> {{ unit || 'reading' }} over seconds</span>
      <span><span class="swatch band-swatch" aria-hidden="true"></span> {{ band ? 'band of ' + band + ' earlier run' + (band === 1 ? '' : 's') : 'no earlier run yet' }}</span>
      <span v-if="limit"><span class="swatch limit-swatch" aria-hidden="true"></span> most for the bolt</span><span v-else-if="said.run && said.run.limit.most">what the bolt loses, without its limit</span><span v-else-if="said.state === 'on' && unit">no limit: nothing watches for overload</span><span v-else>{{ said.state === 'starting' || said.state === 'on' ? 'starting: the limit is not known yet' : 'the recorder is off' }}</span>
      <span class="simulated" :style="{ visibility: said.simulated ? 'visible' : 'hidden' }">{{ said.simulated || 'Simulated runs' }}</span></p>
  </section>`;

const NOW = `
  <section class="now" aria-label="Now">
    <div class="watch">
    <div class="coming">
      <template v-if="said.run && !said.other">
        <p class="where"><span>{{ said.run.place }},</span> <strong v-if="said.run.again">{{ said.run.again }}</strong><span v-else>{{ said.run.name }}</span></p>
        <p class="article" :style="{ '--n': Math.max(said.run.article.length, 5) }">{{ said.run.article }}</p>
        <dl class="needs">
          <div><dt>Tool</dt><dd>{{ said.run.tool }}</dd></div>
          <div :class="{ fresh: said.run.new_bolt }"><dt>Bolt</dt><dd>{{ said.run.bolt }} <small>{{ said.run.use }}</small></dd></div>
          <div v-if="said.run.supply"><dt>Supply</dt><dd>{{ said.run.supply }}</dd></div>
          <div v-if="said.run.limit.most"><dt>{{ said.run.limit.what }}</dt><dd>{{ said.run.limit.most }} <small>{{ said.run.limit.load }} of clamp load</small></dd></div>
          <div v-else class="fresh"><dt>Overload</dt><dd>Not watched</dd></div>
        </dl>
        <p class="remark">{{ said.run.note }}</p>
      </template>
      <template v-else>
        <p class="where">{{ campaign }}</p>
        <p class="article" style="--n: 12">{{ said.state === 'on' && said.phase && !said.other ? 'Plan done' : '–' }}</p>
      </template>
    </div>${LIVE}
    </div>
    <div class="side">
    <div class="act">
      <div class="status" :class="'tone-' + status.tone" :style="{ '--n': Math.max(status.title.length, 9) }">
        <svg viewBox="0 0 24 24" aria-hidden="true"><path :d="signs[status.tone]"/></svg>
        <p class="title">{{ status.title }}</p>
        <p class="detail">{{ status.detail }}</p>
        <p class="fix">{{ status.fix }}</p>
      </div>
      <p class="cool" :class="{ done: !said.cool }"><span>Cool-down</span> <b>{{ said.cool || 'over' }}</b></p>
      <button type="button" class="press" :class="'press-' + main.tone" :disabled="!main.do || !wired"
        :aria-keyshortcuts="key === 'none' ? null : key === 'usual' ? 'Space Enter' : key" @click="pressMain">
        {{ main.label }}</button>
      <p class="told" :class="{ bad: told && told.bad }" role="alert"><template v-if="told">{{ told.what }}<template v-if="told.fix">: {{ told.fix }}</template>.</template></p>
      <button v-if="said.second && wired" type="button" class="button second" @click="press(said.second.do, ...said.second.with)">{{ said.second.label }}</button>
      <span v-else class="second none" aria-hidden="true"></span>
    </div>
    <ul class="cautions" aria-label="Warnings"><li v-for="each in said.cautions" :key="each.text" :class="{ stop: each.stop }">{{ each.text }}</li></ul>
    </div>
    <p class="visually-hidden" role="status" aria-live="polite">{{ spoken }}</p>
  </section>`;

const NEWS = `
  <section class="news" v-if="said.news.length" aria-label="What happened"><h2>What happened</h2>
    <div role="log"><ul><li v-for="(each, at) in said.news" :key="at + each">{{ each }}</li></ul></div>
  </section>`;

const PLAN = `
  <section class="progress-part" aria-label="Plan"><h2>Plan</h2>
    <p class="so-far" v-if="said.progress"><progress :value="said.progress.done" :max="said.progress.total" aria-label="Runs made"></progress>
      <span>{{ said.progress.text }}</span></p>
    <div class="bar deciding">
      <button type="button" class="button" :disabled="!said.undo || !said.can_decide" @click="press('undo')">Undo{{ said.undo ? ': ' + said.undo : '' }}</button>
      <button type="button" class="button" :disabled="!said.run || !said.can_decide || !said.can_plan" @click="newBolt">New bolt</button>
      <button type="button" class="button" :disabled="!said.run || !said.can_decide || !said.can_plan" @click="ask('leave out', 'Leave out ' + said.run.name, 'Why it is left out', [])">Leave this run out</button>
      <button type="button" class="button" :disabled="!said.can_decide" @click="press('add block')">One more block</button>
      <a class="button" :href="compare">Compare</a>
    </div>
  </section>`;

const LAST = `
  <section class="last" aria-label="Last run"><h2>Last run</h2>
    <template v-if="said.verdict">
      <p class="headline" :class="said.verdict.good ? 'is-good' : 'is-bad'"><svg viewBox="0 0 24 24" aria-hidden="true"><path :d="signs[said.verdict.good ? 'good' : 'bad']"/></svg>
        <span>{{ said.verdict.run }}, {{ said.verdict.article }}: {{ said.verdict.headline }}</span></p>
      <p v-if="said.verdict.aside" class="aside-word">Excluded: {{ said.verdict.aside }}</p>
      <dl class="plate"><div v-for="[label, text] in said.verdict.numbers" :key="label"><dt>{{ label }}</dt><dd>{{ text }}</dd></div></dl>
      <ul class="flags" v-if="said.verdict.says.length"><li v-for="each in said.verdict.says" :key="each">{{ each }}</li></ul>
    </template>
    <p v-else class="quiet">None yet since the recorder was started. The verdict appears here after each run.</p>
  </section>`;

const RECENT = `
  <section class="recent" v-if="said.recent.length" aria-label="Latest runs"><h2>Latest runs</h2>
    <ol><li v-for="each in said.recent" :key="each.run" :class="{ aside: each.aside }">
      <p class="what"><a :href="runs + (runs.includes('?') ? '&' : '?') + 'run=' + encodeURIComponent(each.run)">{{ each.run }}</a>
        <span>{{ each.article }}, {{ each.tool }}</span> <span class="quiet">{{ each.started }}</span></p>
      <p class="says">{{ each.aside ? 'excluded: ' + each.aside : each.says }} <b>{{ each.score }}</b> <i v-if="each.note">{{ each.note }}</i></p>
      <div class="bar">
        <button v-if="each.aside" type="button" class="button small" :disabled="!said.can_decide" :aria-label="'Include ' + each.run + ' again'" @click="press('put back', each.run)">Include</button>
        <button v-else type="button" class="button small" :disabled="!said.can_decide" :aria-label="'Exclude ' + each.run" @click="ask('set aside', 'Exclude ' + each.run, 'Reason, for everyone who reads the result', [each.run])">Exclude</button>
        <button type="button" class="button small" :disabled="!said.can_decide" :aria-label="'Note on ' + each.run" @click="ask('note', 'Note on ' + each.run, 'What others should know', [each.run], each.note)">Note</button>
        <label class="button small sound">Sound<input type="file" accept="audio/*,.wav" :aria-label="'Sound of run ' + each.run" @change="hear(each.run, $event)"></label>
      </div>
      <div v-if="heard[each.run]" class="heard" role="status">
        <p v-if="heard[each.run].busy">Reading {{ heard[each.run].file }}.</p>
        <p v-else-if="heard[each.run].problem" class="error">{{ heard[each.run].problem }} {{ heard[each.run].fix }}</p>
        <template v-else>
          <p><strong>Sound and trace: {{ heard[each.run].verdict }}</strong> ({{ heard[each.run].file }})</p>
          <table><caption class="visually-hidden">Sound against trace</caption>
            <thead><tr><th v-for="(head, at) in heard[each.run].rows[0]" :key="at" scope="col">{{ head || 'of the run' }}</th></tr></thead>
            <tbody><tr v-for="row in heard[each.run].rows.slice(1)" :key="row[0]"><th scope="row">{{ row[0] }}</th><td v-for="(cell, at) in row.slice(1)" :key="at">{{ cell }}</td></tr></tbody></table>
          <p v-for="each in heard[each.run].says" :key="each">{{ each }}</p>
        </template>
      </div>
    </li></ol>
  </section>`;

const RIG = `
  <section class="rig" ref="rig" aria-label="Rig"><h2>Rig</h2>
    <p v-if="said.line.port"><strong>{{ said.line.simulated ? 'Simulated rig' : said.line.port }}</strong> <span>{{ said.line.speaks }}</span></p>
    <p v-else class="quiet">No rig is connected.</p>
    <div class="bar">
      <label class="field"><span>Port</span><input ref="port" list="ports" :value="chosenPort" placeholder="such as /dev/ttyACM0" autocomplete="off" spellcheck="false" @input="port = $event.target.value.trim()">
        <datalist id="ports"><option v-for="[name, what] in said.ports" :key="name" :value="name">{{ what }}</option></datalist></label>
      <label class="field baud"><span>Baud rate</span><input v-model.trim="baud" inputmode="numeric" autocomplete="off"></label>
      <button type="button" class="button primary" :disabled="!chosenPort || !said.can_decide" @click="press('connect', chosenPort, baud)">Connect</button>
      <button type="button" class="button" :disabled="!said.can_decide" @click="press('simulate')">Start a simulated rig</button>
      <button type="button" class="button" :disabled="!said.line.port || !said.can_decide" @click="press('disconnect')">Disconnect</button>
      <button type="button" class="button" :disabled="said.state !== 'on' || !said.can_decide" @click="press('end')">End recording</button>
    </div>
    <p class="quiet" v-if="!said.line.port">{{ said.ports.length ? said.ports.map((each) => each[0]).join(', ') + ' on this machine.' : 'This machine shows no serial port: plug the rig in, it appears here.' }}</p>
    <p class="quiet" v-if="!said.marked">The first run of a simulated rig marks the whole campaign as simulated. This cannot be undone.</p>
    <div class="bar" v-if="said.line.ours">
      <label class="field"><span>Fault to simulate</span><select v-model="mishap"><option value="">nothing</option><option v-for="[word, text] in mishaps" :key="word" :value="word">{{ text }}</option></select></label>
      <button type="button" class="button" :disabled="!mishap" @click="press('mishap', mishap)">Simulate this fault</button>
    </div>
  </section>`;

const KEYS = `
  <section class="keys" aria-label="Key and screen"><h2>Key and screen</h2>
    <p><kbd>{{ keyName }}</kbd> also presses the large button. A foot switch that acts as a keyboard works too.</p>
    <div class="bar">
      <button type="button" class="button" :aria-pressed="String(learning)" @click="learning = !learning">{{ learning ? 'Press the key now' : 'Use another key' }}</button>
      <button type="button" class="button" :disabled="key === 'usual'" @click="usualKey">Space and Enter</button>
      <button type="button" class="button" :disabled="key === 'none'" @click="noKey">No key</button>
      <button type="button" class="button" @click="fill">{{ full ? 'Leave full screen' : 'Full screen' }}</button>
    </div>
    <p class="quiet">{{ said.screens > 1 ? said.screens + ' screens are open. All show the same run, and each can press the button.' : 'You can close this page or open it on a second screen at any time; the recording goes on.' }}</p>
  </section>`;

const ASKED = `
  <div v-if="asking" class="asked" role="dialog" aria-modal="false" :aria-label="asking.title" @keydown.escape="asking = null">
    <strong>{{ asking.title }}</strong>
    <label class="field"><span>{{ asking.label }}</span><input ref="asked" v-model="typed" maxlength="300" :placeholder="asking.hint" :required="asking.must" @keydown.enter.prevent="asking.must || answer()"></label>
    <p v-if="asking.must" class="quiet">Type it, then press the button here. The rig's key or foot switch does not answer this question.</p>
    <div class="bar"><button type="button" class="button primary" :disabled="asking.must && !typed.trim()" @click="answer">{{ asking.title }}</button>
      <button type="button" class="button" @click="asking = null">Cancel</button></div>
  </div>`;

export const template = `<div class="recorder" ref="root" :data-phase="said.phase" :data-state="said.state">
  <p v-if="!wired" class="unwired" role="alert"><strong>No connection to the server.</strong> A run under way is saved up to this moment. This page reconnects by itself.</p>
  ${NOW}${NEWS}
  <div class="below">${LAST}${PLAN}${RIG}${KEYS}</div>
  ${RECENT}${ASKED}
</div>`;
