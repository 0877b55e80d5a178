// The places of the screen at the rig; none of them moves while a run is made, and what matters while
// hammering fits on one screen: what runs, level and trace on one side, state and button on the other.
const LIVE = `
  <section class="trace" :aria-label="say('Live trace')">
    <dl class="readouts">
      <div><dt>{{ say("Level, {unit}", { unit: (said.live && said.live.level_unit) || unit || say("reading") }) }}<template v-if="said.run">, {{ said.run.limit.most ? said.run.limit.within + " " + said.run.limit.most : say("not watched for overload") }}</template></dt><dd :class="{ beyond: said.live && said.live.beyond }">{{ said.live ? said.live.level : '–' }}</dd></div>
      <div><dt>{{ say("Score, {unit}", { unit: (said.live && said.live.score_unit) || unit || say("reading") }) }}</dt><dd>{{ said.live ? said.live.score : '–' }}</dd></div>
      <div><dt>{{ said.live && said.live.of ? say("Time of {duration}", { duration: said.live.of }) : say("Time, s") }}</dt><dd>{{ said.live ? said.live.elapsed : '–' }}</dd></div>
    </dl>
    <div class="plot" ref="plot" role="img" :aria-label="say('Live trace in {unit} over time in seconds, over the band of earlier runs of the article', { unit })"></div>
    <p class="key quiet"><span><span class="swatch trace-swatch" aria-hidden="true"></span> {{ say("{unit} over seconds", { unit: unit || say("reading") }) }}</span>
      <span><span class="swatch band-swatch" aria-hidden="true"></span> {{ band === 1 ? say("band of one earlier run") : band ? say("band of {count} earlier runs", { count: band }) : say("no earlier run yet") }}</span>
      <span v-if="limit"><span class="swatch limit-swatch" aria-hidden="true"></span> {{ say("most for the bolt") }}</span><span v-else-if="said.run && said.run.limit.most">{{ say("what the bolt loses, without its limit") }}</span><span v-else-if="said.state === 'on' && unit">{{ say("no limit: nothing watches for overload") }}</span><span v-else>{{ said.state === "starting" || said.state === "on" ? say("starting: the limit is not known yet") : say("the recorder is off") }}</span>
      <span class="simulated" :style="{ visibility: said.simulated ? 'visible' : 'hidden' }">{{ said.simulated || say("Simulated runs") }}</span></p>
  </section>`;

const NOW = `
  <section class="now" :aria-label="say('Now')">
    <div class="watch">
    <div class="coming">
      <template v-if="said.run && !said.other">
        <p class="where"><span>{{ said.run.place }},</span> <strong v-if="said.run.again">{{ said.run.again }}</strong><span v-else>{{ said.run.name }}</span></p>
        <p class="article" :style="{ '--n': Math.max(said.run.article.length, 5) }">{{ said.run.article }}</p>
        <dl class="needs">
          <div><dt>{{ say("Tool") }}</dt><dd>{{ said.run.tool }}</dd></div>
          <div :class="{ fresh: said.run.new_bolt }"><dt>{{ say("Bolt") }}</dt><dd>{{ said.run.bolt }} <small>{{ said.run.use }}</small></dd></div>
          <div v-if="said.run.supply"><dt>{{ say("Supply") }}</dt><dd>{{ said.run.supply }}</dd></div>
          <div v-if="said.run.limit.most"><dt>{{ said.run.limit.what }}</dt><dd>{{ said.run.limit.most }} <small>{{ say("{load} of clamp load", { load: said.run.limit.load }) }}</small></dd></div>
          <div v-else class="fresh"><dt>{{ say("Overload") }}</dt><dd>{{ say("Not watched") }}</dd></div>
        </dl>
        <p class="remark">{{ said.run.note }}</p>
      </template>
      <template v-else>
        <p class="where">{{ campaign }}</p>
        <p class="article" style="--n: 12">{{ said.state === 'on' && said.phase && !said.other ? say("Plan done") : "–" }}</p>
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
      <p class="cool" :class="{ done: !said.cool }"><span>{{ say("Cool-down") }}</span> <b>{{ said.cool || say("over") }}</b></p>
      <button type="button" class="press" :class="'press-' + main.tone" :disabled="!main.do || !wired"
        :aria-keyshortcuts="key === 'none' ? null : key === 'usual' ? 'Space Enter' : key" @click="pressMain">
        {{ main.label }}</button>
      <p class="told" :class="{ bad: told && told.bad }" role="alert"><template v-if="told">{{ told.what }}<template v-if="told.fix">: {{ told.fix }}</template>.</template></p>
      <button v-if="said.second && wired" type="button" class="button second" @click="press(said.second.do, ...said.second.with)">{{ said.second.label }}</button>
      <span v-else class="second none" aria-hidden="true"></span>
    </div>
    <ul class="cautions" :aria-label="say('Warnings')"><li v-for="each in said.cautions" :key="each.text" :class="{ stop: each.stop }">{{ each.text }}</li></ul>
    </div>
    <p class="visually-hidden" role="status" aria-live="polite">{{ spoken }}</p>
  </section>`;

const NEWS = `
  <section class="news" v-if="said.news.length" :aria-label="say('What happened')"><h2>{{ say("What happened") }}</h2>
    <div role="log"><ul><li v-for="(each, at) in said.news" :key="at + each">{{ each }}</li></ul></div>
  </section>`;

const PLAN = `
  <section class="progress-part" :aria-label="say('Plan')"><h2>{{ say("Plan") }}</h2>
    <p class="so-far" v-if="said.progress"><progress :value="said.progress.done" :max="said.progress.total" :aria-label="say('Runs made')"></progress>
      <span>{{ said.progress.text }}</span></p>
    <div class="bar deciding">
      <button type="button" class="button" :disabled="!said.undo || !said.can_decide" @click="press('undo')">{{ said.undo ? say("Undo: {what}", { what: said.undo }) : say("Undo") }}</button>
      <button type="button" class="button" :disabled="!said.run || !said.can_decide || !said.can_plan" @click="newBolt">{{ say("New bolt") }}</button>
      <button type="button" class="button" :disabled="!said.run || !said.can_decide || !said.can_plan" @click="ask('leave out', say('Leave out {run}', { run: said.run.name }), say('Why it is left out'), [])">{{ say("Leave this run out") }}</button>
      <button type="button" class="button" :disabled="!said.can_decide" @click="press('add block')">{{ say("One more block") }}</button>
      <a class="button" :href="compare">{{ say("Compare") }}</a>
    </div>
  </section>`;

const LAST = `
  <section class="last" :aria-label="say('Last run')"><h2>{{ say("Last run") }}</h2>
    <template v-if="said.verdict">
      <p class="headline" :class="said.verdict.good ? 'is-good' : 'is-bad'"><svg viewBox="0 0 24 24" aria-hidden="true"><path :d="signs[said.verdict.good ? 'good' : 'bad']"/></svg>
        <span>{{ said.verdict.run }}, {{ said.verdict.article }}: {{ said.verdict.headline }}</span></p>
      <p v-if="said.verdict.aside" class="aside-word">{{ say("Excluded: {reason}", { reason: said.verdict.aside }) }}</p>
      <dl class="plate"><div v-for="[label, text] in said.verdict.numbers" :key="label"><dt>{{ label }}</dt><dd>{{ text }}</dd></div></dl>
      <ul class="flags" v-if="said.verdict.says.length"><li v-for="each in said.verdict.says" :key="each">{{ each }}</li></ul>
    </template>
    <p v-else class="quiet">{{ say("None yet since the recorder was started. The verdict appears here after each run.") }}</p>
  </section>`;

const RECENT = `
  <section class="recent" v-if="said.recent.length" :aria-label="say('Latest runs')"><h2>{{ say("Latest runs") }}</h2>
    <ol><li v-for="each in said.recent" :key="each.run" :class="{ aside: each.aside }">
      <p class="what"><a :href="runs + (runs.includes('?') ? '&' : '?') + 'run=' + encodeURIComponent(each.run)">{{ each.run }}</a>
        <span>{{ each.article }}, {{ each.tool }}</span> <span class="quiet">{{ each.started }}</span></p>
      <p class="says">{{ each.aside ? say("excluded: {reason}", { reason: each.aside }) : each.says }} <b>{{ each.score }}</b> <i v-if="each.note">{{ each.note }}</i></p>
      <div class="bar">
        <button v-if="each.aside" type="button" class="button small" :disabled="!said.can_decide" :aria-label="say('Include {run} again', { run: each.run })" @click="press('put back', each.run)">{{ say("Include") }}</button>
        <button v-else type="button" class="button small" :disabled="!said.can_decide" :aria-label="say('Exclude {run}', { run: each.run })" @click="ask('set aside', say('Exclude {run}', { run: each.run }), say('Reason, for everyone who reads the result'), [each.run])">{{ say("Exclude") }}</button>
        <button type="button" class="button small" :disabled="!said.can_decide" :aria-label="say('Note on {run}', { run: each.run })" @click="ask('note', say('Note on {run}', { run: each.run }), say('What others should know'), [each.run], each.note)">{{ say("Note") }}</button>
        <label class="button small sound">{{ say("Sound") }}<input type="file" accept="audio/*,.wav" :aria-label="say('Sound of run {run}', { run: each.run })" @change="hear(each.run, $event)"></label>
      </div>
      <div v-if="heard[each.run]" class="heard" role="status">
        <p v-if="heard[each.run].busy">{{ say("Reading {file}.", { file: heard[each.run].file }) }}</p>
        <p v-else-if="heard[each.run].problem" class="error">{{ heard[each.run].problem }} {{ heard[each.run].fix }}</p>
        <template v-else>
          <p><strong>{{ say("Sound and trace: {verdict}", { verdict: heard[each.run].verdict }) }}</strong> ({{ heard[each.run].file }})</p>
          <table><caption class="visually-hidden">{{ say("Sound against trace") }}</caption>
            <thead><tr><th v-for="(head, at) in heard[each.run].rows[0]" :key="at" scope="col">{{ head || say("of the run") }}</th></tr></thead>
            <tbody><tr v-for="row in heard[each.run].rows.slice(1)" :key="row[0]"><th scope="row">{{ row[0] }}</th><td v-for="(cell, at) in row.slice(1)" :key="at">{{ cell }}</td></tr></tbody></table>
          <p v-for="each in heard[each.run].says" :key="each">{{ each }}</p>
        </template>
      </div>
    </li></ol>
  </section>`;

const RIG = `
  <section class="rig" ref="rig" :aria-label="say('Rig')"><h2>{{ say("Rig") }}</h2>
    <p v-if="said.line.port"><strong>{{ said.line.simulated ? say("Simulated rig") : said.line.port }}</strong> <span>{{ said.line.speaks }}</span></p>
    <p v-else class="quiet">{{ say("No rig is connected.") }}</p>
    <div class="bar">
      <label class="field"><span>{{ say("Port") }}</span><input ref="port" list="ports" :value="chosenPort" :placeholder="say('such as /dev/ttyACM0')" autocomplete="off" spellcheck="false" @input="port = $event.target.value.trim()">
        <datalist id="ports"><option v-for="[name, what] in said.ports" :key="name" :value="name">{{ what }}</option></datalist></label>
      <label class="field baud"><span>{{ say("Baud rate") }}</span><input v-model.trim="baud" inputmode="numeric" autocomplete="off"></label>
      <button type="button" class="button primary" :disabled="!chosenPort || !said.can_decide" @click="connect">{{ say("Connect") }}</button>
      <button type="button" class="button" :disabled="!said.can_decide" @click="simulate">{{ say("Start a simulated rig") }}</button>
      <button type="button" class="button" :disabled="!said.line.port || !said.can_decide" @click="press('disconnect')">{{ say("Disconnect") }}</button>
      <button type="button" class="button" :disabled="said.state !== 'on' || !said.can_decide" @click="press('end')">{{ say("End recording") }}</button>
    </div>
    <p class="quiet" v-if="!said.line.port">{{ said.ports.length ? say("{ports} on this machine.", { ports: said.ports.map((each) => each[0]).join(", ") }) : say("This machine shows no serial port: plug the rig in, it appears here.") }}</p>
    <p class="quiet" v-if="!said.marked">{{ say("The first run of a simulated rig marks the whole campaign as simulated. This cannot be undone.") }}</p>
    <div class="bar" v-if="said.line.ours">
      <label class="field"><span>{{ say("Fault to simulate") }}</span><select v-model="mishap"><option value="">{{ say("nothing") }}</option><option v-for="[word, text] in mishaps" :key="word" :value="word">{{ text }}</option></select></label>
      <button type="button" class="button" :disabled="!mishap" @click="press('mishap', mishap)">{{ say("Simulate this fault") }}</button>
    </div>
  </section>`;

const KEYS = `
  <section class="keys" :aria-label="say('Key and screen')"><h2>{{ say("Key and screen") }}</h2>
    <p><kbd>{{ keyName }}</kbd> {{ say("also presses the large button. A foot switch that acts as a keyboard works too.") }}</p>
    <div class="bar">
      <button type="button" class="button" :aria-pressed="String(learning)" @click="learning = !learning">{{ learning ? say("Press the key now") : say("Use another key") }}</button>
      <button type="button" class="button" :disabled="key === 'usual'" @click="usualKey">{{ say("Space and Enter") }}</button>
      <button type="button" class="button" :disabled="key === 'none'" @click="noKey">{{ say("No key") }}</button>
      <button type="button" class="button" @click="fill">{{ full ? say("Leave full screen") : say("Full screen") }}</button>
    </div>
    <div class="bar">
      <label class="field"><span>{{ say("Signals: ready, release the trigger, done, repeat") }}</span><select :value="signalling" @change="chooseSignals"><option v-for="[name, text] in signalChoices" :key="name" :value="name">{{ say(text) }}</option></select></label>
      <button type="button" class="button" :disabled="signalling === 'off'" @click="trySignal">{{ say("Try it") }}</button>
    </div>
    <p class="quiet" v-if="signalling !== 'off'">{{ say("A phone vibrates too. Hammering and ear protection drown sounds: what the screen says counts.") }}</p>
    <p class="quiet">{{ said.screens > 1 ? say("{count} screens are open. All show the same run, and each can press the button.", { count: said.screens }) : say("You can close this page or open it on a second screen at any time; the recording goes on.") }}</p>
  </section>`;

const ASKED = `
  <div v-if="asking" class="asked" role="dialog" aria-modal="false" :aria-label="asking.title" @keydown.escape="asking = null">
    <strong>{{ asking.title }}</strong>
    <label class="field"><span>{{ asking.label }}</span><input ref="asked" v-model="typed" maxlength="300" :placeholder="asking.hint" :required="asking.must" @keydown.enter.prevent="asking.must || answer()"></label>
    <p v-if="asking.must" class="quiet">{{ say("Type it, then press the button here. The rig's key or foot switch does not answer this question.") }}</p>
    <div class="bar"><button type="button" class="button primary" :disabled="asking.must && !typed.trim()" @click="answer">{{ asking.title }}</button>
      <button type="button" class="button" @click="asking = null">{{ say("Cancel") }}</button></div>
  </div>`;

export const template = `<div class="recorder" ref="root" :lang="language" :data-phase="said.phase" :data-state="said.state">
  <p v-if="!wired" class="unwired" role="alert"><strong>{{ say("No connection to the server.") }}</strong> {{ say("A run under way is saved up to this moment. This page reconnects by itself.") }}</p>
  ${NOW}${NEWS}
  <div class="below">${LAST}${PLAN}${RIG}${KEYS}</div>
  ${RECENT}${ASKED}
</div>`;
