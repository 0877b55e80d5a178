// Made by scripts/record_render.py of 7d62a62f08a13a1d; do not edit.
window.strikeproofRender = function (Vue) {
const _Vue = Vue
const { createElementVNode: _createElementVNode, createCommentVNode: _createCommentVNode, createTextVNode: _createTextVNode } = _Vue

const _hoisted_1 = ["lang", "data-phase", "data-state"]
const _hoisted_2 = {
  key: 0,
  class: "unwired",
  role: "alert"
}
const _hoisted_3 = ["aria-label"]
const _hoisted_4 = { class: "watch" }
const _hoisted_5 = { class: "coming" }
const _hoisted_6 = { class: "where" }
const _hoisted_7 = { key: 0 }
const _hoisted_8 = { key: 1 }
const _hoisted_9 = { class: "needs" }
const _hoisted_10 = { key: 0 }
const _hoisted_11 = { key: 1 }
const _hoisted_12 = {
  key: 2,
  class: "fresh"
}
const _hoisted_13 = { class: "remark" }
const _hoisted_14 = { class: "where" }
const _hoisted_15 = {
  class: "article",
  style: {"--n":"12"}
}
const _hoisted_16 = ["aria-label"]
const _hoisted_17 = { class: "readouts" }
const _hoisted_18 = ["aria-label"]
const _hoisted_19 = { class: "key quiet" }
const _hoisted_20 = { key: 0 }
const _hoisted_21 = { key: 1 }
const _hoisted_22 = { key: 2 }
const _hoisted_23 = { key: 3 }
const _hoisted_24 = { class: "side" }
const _hoisted_25 = { class: "act" }
const _hoisted_26 = {
  viewBox: "0 0 24 24",
  "aria-hidden": "true"
}
const _hoisted_27 = ["d"]
const _hoisted_28 = { class: "title" }
const _hoisted_29 = { class: "detail" }
const _hoisted_30 = { class: "fix" }
const _hoisted_31 = ["disabled", "aria-keyshortcuts", "onClick"]
const _hoisted_32 = ["onClick"]
const _hoisted_33 = {
  key: 1,
  class: "second none",
  "aria-hidden": "true"
}
const _hoisted_34 = ["aria-label"]
const _hoisted_35 = {
  class: "visually-hidden",
  role: "status",
  "aria-live": "polite"
}
const _hoisted_36 = ["aria-label"]
const _hoisted_37 = { role: "log" }
const _hoisted_38 = { class: "below" }
const _hoisted_39 = ["aria-label"]
const _hoisted_40 = {
  viewBox: "0 0 24 24",
  "aria-hidden": "true"
}
const _hoisted_41 = ["d"]
const _hoisted_42 = {
  key: 0,
  class: "aside-word"
}
const _hoisted_43 = { class: "plate" }
const _hoisted_44 = {
  key: 1,
  class: "flags"
}
const _hoisted_45 = {
  key: 1,
  class: "quiet"
}
const _hoisted_46 = ["aria-label"]
const _hoisted_47 = {
  key: 0,
  class: "so-far"
}
const _hoisted_48 = ["value", "max", "aria-label"]
const _hoisted_49 = { class: "bar deciding" }
const _hoisted_50 = ["disabled", "onClick"]
const _hoisted_51 = ["disabled", "onClick"]
const _hoisted_52 = ["disabled", "onClick"]
const _hoisted_53 = ["disabled", "onClick"]
const _hoisted_54 = ["href"]
const _hoisted_55 = ["aria-label"]
const _hoisted_56 = { key: 0 }
const _hoisted_57 = {
  key: 1,
  class: "quiet"
}
const _hoisted_58 = { class: "bar" }
const _hoisted_59 = { class: "field" }
const _hoisted_60 = ["value", "placeholder", "onInput"]
const _hoisted_61 = { id: "ports" }
const _hoisted_62 = ["value"]
const _hoisted_63 = { class: "field baud" }
const _hoisted_64 = ["onUpdate:modelValue"]
const _hoisted_65 = ["disabled", "onClick"]
const _hoisted_66 = ["disabled", "onClick"]
const _hoisted_67 = ["disabled", "onClick"]
const _hoisted_68 = ["disabled", "onClick"]
const _hoisted_69 = {
  key: 2,
  class: "quiet"
}
const _hoisted_70 = {
  key: 3,
  class: "quiet"
}
const _hoisted_71 = {
  key: 4,
  class: "bar"
}
const _hoisted_72 = { class: "field" }
const _hoisted_73 = ["onUpdate:modelValue"]
const _hoisted_74 = { value: "" }
const _hoisted_75 = ["value"]
const _hoisted_76 = ["disabled", "onClick"]
const _hoisted_77 = ["aria-label"]
const _hoisted_78 = { class: "bar" }
const _hoisted_79 = ["aria-pressed", "onClick"]
const _hoisted_80 = ["disabled", "onClick"]
const _hoisted_81 = ["disabled", "onClick"]
const _hoisted_82 = ["onClick"]
const _hoisted_83 = { class: "bar" }
const _hoisted_84 = { class: "field" }
const _hoisted_85 = ["value", "onChange"]
const _hoisted_86 = ["value"]
const _hoisted_87 = ["disabled", "onClick"]
const _hoisted_88 = {
  key: 0,
  class: "quiet"
}
const _hoisted_89 = { class: "quiet" }
const _hoisted_90 = ["aria-label"]
const _hoisted_91 = { class: "what" }
const _hoisted_92 = ["href"]
const _hoisted_93 = { class: "quiet" }
const _hoisted_94 = { class: "says" }
const _hoisted_95 = { key: 0 }
const _hoisted_96 = { class: "bar" }
const _hoisted_97 = ["disabled", "aria-label", "onClick"]
const _hoisted_98 = ["disabled", "aria-label", "onClick"]
const _hoisted_99 = ["disabled", "aria-label", "onClick"]
const _hoisted_100 = { class: "button small sound" }
const _hoisted_101 = ["aria-label", "onChange"]
const _hoisted_102 = {
  key: 0,
  class: "heard",
  role: "status"
}
const _hoisted_103 = { key: 0 }
const _hoisted_104 = {
  key: 1,
  class: "error"
}
const _hoisted_105 = { class: "visually-hidden" }
const _hoisted_106 = { scope: "row" }
const _hoisted_107 = ["aria-label", "onKeydown"]
const _hoisted_108 = { class: "field" }
const _hoisted_109 = ["onUpdate:modelValue", "placeholder", "required", "onKeydown"]
const _hoisted_110 = {
  key: 0,
  class: "quiet"
}
const _hoisted_111 = { class: "bar" }
const _hoisted_112 = ["disabled", "onClick"]
const _hoisted_113 = ["onClick"]

return function render(_ctx, _cache) {
  with (_ctx) {
    const { toDisplayString: _toDisplayString, createElementVNode: _createElementVNode, createTextVNode: _createTextVNode, openBlock: _openBlock, createElementBlock: _createElementBlock, createCommentVNode: _createCommentVNode, normalizeStyle: _normalizeStyle, normalizeClass: _normalizeClass, Fragment: _Fragment, renderList: _renderList, vModelText: _vModelText, withDirectives: _withDirectives, vModelSelect: _vModelSelect, withModifiers: _withModifiers, withKeys: _withKeys } = _Vue

    return (_openBlock(), _createElementBlock("div", {
      class: "recorder",
      ref: "root",
      lang: language,
      "data-phase": said.phase,
      "data-state": said.state
    }, [
      (!wired)
        ? (_openBlock(), _createElementBlock("p", _hoisted_2, [_createElementVNode("strong", null, _toDisplayString(say("No connection to the server.")), 1), _createTextVNode(" " + _toDisplayString(say("A run under way is saved up to this moment. This page reconnects by itself.")), 1)]))
        : _createCommentVNode("", true),
      _createElementVNode("section", {
        class: "now",
        "aria-label": say('Now')
      }, [_createElementVNode("div", _hoisted_4, [_createElementVNode("div", _hoisted_5, [(said.run && !said.other)
        ? (_openBlock(), _createElementBlock(_Fragment, { key: 0 }, [
            _createElementVNode("p", _hoisted_6, [_createElementVNode("span", null, _toDisplayString(said.run.place) + ",", 1), _cache[0] || (_cache[0] = _createTextVNode()), (said.run.again)
              ? (_openBlock(), _createElementBlock("strong", _hoisted_7, _toDisplayString(said.run.again), 1))
              : (_openBlock(), _createElementBlock("span", _hoisted_8, _toDisplayString(said.run.name), 1))]),
            _createElementVNode("p", {
              class: "article",
              style: _normalizeStyle({ '--n': Math.max(said.run.article.length, 5) })
            }, _toDisplayString(said.run.article), 5),
            _createElementVNode("dl", _hoisted_9, [
              _createElementVNode("div", null, [_createElementVNode("dt", null, _toDisplayString(say("Tool")), 1), _createElementVNode("dd", null, _toDisplayString(said.run.tool), 1)]),
              _createElementVNode("div", { class: _normalizeClass({ fresh: said.run.new_bolt }) }, [_createElementVNode("dt", null, _toDisplayString(say("Bolt")), 1), _createElementVNode("dd", null, [_createTextVNode(_toDisplayString(said.run.bolt) + " ", 1), _createElementVNode("small", null, _toDisplayString(said.run.use), 1)])], 2),
              (said.run.supply)
                ? (_openBlock(), _createElementBlock("div", _hoisted_10, [_createElementVNode("dt", null, _toDisplayString(say("Supply")), 1), _createElementVNode("dd", null, _toDisplayString(said.run.supply), 1)]))
                : _createCommentVNode("", true),
              (said.run.limit.most)
                ? (_openBlock(), _createElementBlock("div", _hoisted_11, [_createElementVNode("dt", null, _toDisplayString(said.run.limit.what), 1), _createElementVNode("dd", null, [_createTextVNode(_toDisplayString(said.run.limit.most) + " ", 1), _createElementVNode("small", null, _toDisplayString(say("{load} of clamp load", { load: said.run.limit.load })), 1)])]))
                : (_openBlock(), _createElementBlock("div", _hoisted_12, [_createElementVNode("dt", null, _toDisplayString(say("Overload")), 1), _createElementVNode("dd", null, _toDisplayString(say("Not watched")), 1)]))
            ]),
            _createElementVNode("p", _hoisted_13, _toDisplayString(said.run.note), 1)
          ], 64))
        : (_openBlock(), _createElementBlock(_Fragment, { key: 1 }, [_createElementVNode("p", _hoisted_14, _toDisplayString(campaign), 1), _createElementVNode("p", _hoisted_15, _toDisplayString(said.state === 'on' && said.phase && !said.other ? say("Plan done") : "–"), 1)], 64))]), _createElementVNode("section", {
        class: "trace",
        "aria-label": say('Live trace')
      }, [_createElementVNode("dl", _hoisted_17, [_createElementVNode("div", null, [_createElementVNode("dt", null, [_createTextVNode(_toDisplayString(say("Level, {unit}", { unit: (said.live && said.live.level_unit) || unit || say("reading") })), 1), (said.run)
        ? (_openBlock(), _createElementBlock(_Fragment, { key: 0 }, [_createTextVNode(", " + _toDisplayString(said.run.limit.most ? said.run.limit.within + " " + said.run.limit.most : say("not watched for overload")), 1)], 64))
        : _createCommentVNode("", true)]), _createElementVNode("dd", { class: _normalizeClass({ beyond: said.live && said.live.beyond }) }, _toDisplayString(said.live ? said.live.level : '–'), 3)]), _createElementVNode("div", null, [_createElementVNode("dt", null, _toDisplayString(say("Score, {unit}", { unit: (said.live && said.live.score_unit) || unit || say("reading") })), 1), _createElementVNode("dd", null, _toDisplayString(said.live ? said.live.score : '–'), 1)]), _createElementVNode("div", null, [_createElementVNode("dt", null, _toDisplayString(said.live && said.live.of ? say("Time of {duration}", { duration: said.live.of }) : say("Time, s")), 1), _createElementVNode("dd", null, _toDisplayString(said.live ? said.live.elapsed : '–'), 1)])]), _createElementVNode("div", {
        class: "plot",
        ref: "plot",
        role: "img",
        "aria-label": say('Live trace in {unit} over time in seconds, over the band of earlier runs of the article', { unit })
      }, null, 8, _hoisted_18), _createElementVNode("p", _hoisted_19, [
        _createElementVNode("span", null, [_cache[1] || (_cache[1] = _createElementVNode("span", {
          class: "swatch trace-swatch",
          "aria-hidden": "true"
        }, null, -1)), _createTextVNode(" " + _toDisplayString(say("{unit} over seconds", { unit: unit || say("reading") })), 1)]),
        _createElementVNode("span", null, [_cache[2] || (_cache[2] = _createElementVNode("span", {
          class: "swatch band-swatch",
          "aria-hidden": "true"
        }, null, -1)), _createTextVNode(" " + _toDisplayString(band === 1 ? say("band of one earlier run") : band ? say("band of {count} earlier runs", { count: band }) : say("no earlier run yet")), 1)]),
        limit
          ? (_openBlock(), _createElementBlock("span", _hoisted_20, [_cache[3] || (_cache[3] = _createElementVNode("span", {
              class: "swatch limit-swatch",
              "aria-hidden": "true"
            }, null, -1)), _createTextVNode(" " + _toDisplayString(say("most for the bolt")), 1)]))
          : (said.run && said.run.limit.most)
            ? (_openBlock(), _createElementBlock("span", _hoisted_21, _toDisplayString(say("what the bolt loses, without its limit")), 1))
            : (said.state === 'on' && unit)
              ? (_openBlock(), _createElementBlock("span", _hoisted_22, _toDisplayString(say("no limit: nothing watches for overload")), 1))
              : (_openBlock(), _createElementBlock("span", _hoisted_23, _toDisplayString(said.state === "starting" || said.state === "on" ? say("starting: the limit is not known yet") : say("the recorder is off")), 1)),
        _createElementVNode("span", {
          class: "simulated",
          style: _normalizeStyle({ visibility: said.simulated ? 'visible' : 'hidden' })
        }, _toDisplayString(said.simulated || say("Simulated runs")), 5)
      ])], 8, _hoisted_16)]), _createElementVNode("div", _hoisted_24, [_createElementVNode("div", _hoisted_25, [
        _createElementVNode("div", {
          class: _normalizeClass(["status", 'tone-' + status.tone]),
          style: _normalizeStyle({ '--n': Math.max(status.title.length, 9) })
        }, [
          (_openBlock(), _createElementBlock("svg", _hoisted_26, [_createElementVNode("path", { d: signs[status.tone] }, null, 8, _hoisted_27)])),
          _createElementVNode("p", _hoisted_28, _toDisplayString(status.title), 1),
          _createElementVNode("p", _hoisted_29, _toDisplayString(status.detail), 1),
          _createElementVNode("p", _hoisted_30, _toDisplayString(status.fix), 1)
        ], 6),
        _createElementVNode("p", { class: _normalizeClass(["cool", { done: !said.cool }]) }, [_createElementVNode("span", null, _toDisplayString(say("Cool-down")), 1), _cache[4] || (_cache[4] = _createTextVNode()), _createElementVNode("b", null, _toDisplayString(said.cool || say("over")), 1)], 2),
        _createElementVNode("button", {
          type: "button",
          class: _normalizeClass(["press", 'press-' + main.tone]),
          disabled: !main.do || !wired,
          "aria-keyshortcuts": key === 'none' ? null : key === 'usual' ? 'Space Enter' : key,
          onClick: pressMain
        }, _toDisplayString(main.label), 11, _hoisted_31),
        _createElementVNode("p", {
          class: _normalizeClass(["told", { bad: told && told.bad }]),
          role: "alert"
        }, [told
          ? (_openBlock(), _createElementBlock(_Fragment, { key: 0 }, [_createTextVNode(_toDisplayString(told.what), 1), (told.fix)
              ? (_openBlock(), _createElementBlock(_Fragment, { key: 0 }, [_createTextVNode(": " + _toDisplayString(told.fix), 1)], 64))
              : _createCommentVNode("", true), _cache[5] || (_cache[5] = _createTextVNode(".", -1))], 64))
          : _createCommentVNode("", true)], 2),
        (said.second && wired)
          ? (_openBlock(), _createElementBlock("button", {
              key: 0,
              type: "button",
              class: "button second",
              onClick: $event => (press(said.second.do, ...said.second.with))
            }, _toDisplayString(said.second.label), 9, _hoisted_32))
          : (_openBlock(), _createElementBlock("span", _hoisted_33))
      ]), _createElementVNode("ul", {
        class: "cautions",
        "aria-label": say('Warnings')
      }, [(_openBlock(true), _createElementBlock(_Fragment, null, _renderList(said.cautions, (each) => {
        return (_openBlock(), _createElementBlock("li", {
          key: each.text,
          class: _normalizeClass({ stop: each.stop })
        }, _toDisplayString(each.text), 3))
      }), 128))], 8, _hoisted_34)]), _createElementVNode("p", _hoisted_35, _toDisplayString(spoken), 1)], 8, _hoisted_3),
      (said.news.length)
        ? (_openBlock(), _createElementBlock("section", {
            key: 1,
            class: "news",
            "aria-label": say('What happened')
          }, [_createElementVNode("h2", null, _toDisplayString(say("What happened")), 1), _createElementVNode("div", _hoisted_37, [_createElementVNode("ul", null, [(_openBlock(true), _createElementBlock(_Fragment, null, _renderList(said.news, (each, at) => {
            return (_openBlock(), _createElementBlock("li", { key: at + each }, _toDisplayString(each), 1))
          }), 128))])])], 8, _hoisted_36))
        : _createCommentVNode("", true),
      _createElementVNode("div", _hoisted_38, [
        _createElementVNode("section", {
          class: "last",
          "aria-label": say('Last run')
        }, [_createElementVNode("h2", null, _toDisplayString(say("Last run")), 1), (said.verdict)
          ? (_openBlock(), _createElementBlock(_Fragment, { key: 0 }, [
              _createElementVNode("p", { class: _normalizeClass(["headline", said.verdict.good ? 'is-good' : 'is-bad']) }, [(_openBlock(), _createElementBlock("svg", _hoisted_40, [_createElementVNode("path", { d: signs[said.verdict.good ? 'good' : 'bad'] }, null, 8, _hoisted_41)])), _createElementVNode("span", null, _toDisplayString(said.verdict.run) + ", " + _toDisplayString(said.verdict.article) + ": " + _toDisplayString(said.verdict.headline), 1)], 2),
              (said.verdict.aside)
                ? (_openBlock(), _createElementBlock("p", _hoisted_42, _toDisplayString(say("Excluded: {reason}", { reason: said.verdict.aside })), 1))
                : _createCommentVNode("", true),
              _createElementVNode("dl", _hoisted_43, [(_openBlock(true), _createElementBlock(_Fragment, null, _renderList(said.verdict.numbers, ([label, text]) => {
                return (_openBlock(), _createElementBlock("div", { key: label }, [_createElementVNode("dt", null, _toDisplayString(label), 1), _createElementVNode("dd", null, _toDisplayString(text), 1)]))
              }), 128))]),
              (said.verdict.says.length)
                ? (_openBlock(), _createElementBlock("ul", _hoisted_44, [(_openBlock(true), _createElementBlock(_Fragment, null, _renderList(said.verdict.says, (each) => {
                    return (_openBlock(), _createElementBlock("li", { key: each }, _toDisplayString(each), 1))
                  }), 128))]))
                : _createCommentVNode("", true)
            ], 64))
          : (_openBlock(), _createElementBlock("p", _hoisted_45, _toDisplayString(say("None yet since the recorder was started. The verdict appears here after each run.")), 1))], 8, _hoisted_39),
        _createElementVNode("section", {
          class: "progress-part",
          "aria-label": say('Plan')
        }, [_createElementVNode("h2", null, _toDisplayString(say("Plan")), 1), (said.progress)
          ? (_openBlock(), _createElementBlock("p", _hoisted_47, [_createElementVNode("progress", {
              value: said.progress.done,
              max: said.progress.total,
              "aria-label": say('Runs made')
            }, null, 8, _hoisted_48), _createElementVNode("span", null, _toDisplayString(said.progress.text), 1)]))
          : _createCommentVNode("", true), _createElementVNode("div", _hoisted_49, [
          _createElementVNode("button", {
            type: "button",
            class: "button",
            disabled: !said.undo || !said.can_decide,
            onClick: $event => (press('undo'))
          }, _toDisplayString(said.undo ? say("Undo: {what}", { what: said.undo }) : say("Undo")), 9, _hoisted_50),
          _createElementVNode("button", {
            type: "button",
            class: "button",
            disabled: !said.run || !said.can_decide || !said.can_plan,
            onClick: newBolt
          }, _toDisplayString(say("New bolt")), 9, _hoisted_51),
          _createElementVNode("button", {
            type: "button",
            class: "button",
            disabled: !said.run || !said.can_decide || !said.can_plan,
            onClick: $event => (ask('leave out', say('Leave out {run}', { run: said.run.name }), say('Why it is left out'), []))
          }, _toDisplayString(say("Leave this run out")), 9, _hoisted_52),
          _createElementVNode("button", {
            type: "button",
            class: "button",
            disabled: !said.can_decide,
            onClick: $event => (press('add block'))
          }, _toDisplayString(say("One more block")), 9, _hoisted_53),
          _createElementVNode("a", {
            class: "button",
            href: compare
          }, _toDisplayString(say("Compare")), 9, _hoisted_54)
        ])], 8, _hoisted_46),
        _createElementVNode("section", {
          class: "rig",
          ref: "rig",
          "aria-label": say('Rig')
        }, [
          _createElementVNode("h2", null, _toDisplayString(say("Rig")), 1),
          (said.line.port)
            ? (_openBlock(), _createElementBlock("p", _hoisted_56, [_createElementVNode("strong", null, _toDisplayString(said.line.simulated ? say("Simulated rig") : said.line.port), 1), _cache[6] || (_cache[6] = _createTextVNode()), _createElementVNode("span", null, _toDisplayString(said.line.speaks), 1)]))
            : (_openBlock(), _createElementBlock("p", _hoisted_57, _toDisplayString(say("No rig is connected.")), 1)),
          _createElementVNode("div", _hoisted_58, [
            _createElementVNode("label", _hoisted_59, [_createElementVNode("span", null, _toDisplayString(say("Port")), 1), _createElementVNode("input", {
              ref: "port",
              list: "ports",
              value: chosenPort,
              placeholder: say('such as /dev/ttyACM0'),
              autocomplete: "off",
              spellcheck: "false",
              onInput: $event => (port = $event.target.value.trim())
            }, null, 40, _hoisted_60), _createElementVNode("datalist", _hoisted_61, [(_openBlock(true), _createElementBlock(_Fragment, null, _renderList(said.ports, ([name, what]) => {
              return (_openBlock(), _createElementBlock("option", {
                key: name,
                value: name
              }, _toDisplayString(what), 9, _hoisted_62))
            }), 128))])]),
            _createElementVNode("label", _hoisted_63, [_createElementVNode("span", null, _toDisplayString(say("Baud rate")), 1), _withDirectives(_createElementVNode("input", {
              "onUpdate:modelValue": $event => ((baud) = $event),
              inputmode: "numeric",
              autocomplete: "off"
            }, null, 8, _hoisted_64), [[
              _vModelText,
              baud,
              void 0,
              { trim: true }
            ]])]),
            _createElementVNode("button", {
              type: "button",
              class: "button primary",
              disabled: !chosenPort || !said.can_decide,
              onClick: connect
            }, _toDisplayString(say("Connect")), 9, _hoisted_65),
            _createElementVNode("button", {
              type: "button",
              class: "button",
              disabled: !said.can_decide,
              onClick: simulate
            }, _toDisplayString(say("Start a simulated rig")), 9, _hoisted_66),
            _createElementVNode("button", {
              type: "button",
              class: "button",
              disabled: !said.line.port || !said.can_decide,
              onClick: $event => (press('disconnect'))
            }, _toDisplayString(say("Disconnect")), 9, _hoisted_67),
            _createElementVNode("button", {
              type: "button",
              class: "button",
              disabled: said.state !== 'on' || !said.can_decide,
              onClick: $event => (press('end'))
            }, _toDisplayString(say("End recording")), 9, _hoisted_68)
          ]),
          (!said.line.port)
            ? (_openBlock(), _createElementBlock("p", _hoisted_69, _toDisplayString(said.ports.length ? say("{ports} on this machine.", { ports: said.ports.map((each) => each[0]).join(", ") }) : say("This machine shows no serial port: plug the rig in, it appears here.")), 1))
            : _createCommentVNode("", true),
          (!said.marked)
            ? (_openBlock(), _createElementBlock("p", _hoisted_70, _toDisplayString(say("The first run of a simulated rig marks the whole campaign as simulated. This cannot be undone.")), 1))
            : _createCommentVNode("", true),
          (said.line.ours)
            ? (_openBlock(), _createElementBlock("div", _hoisted_71, [_createElementVNode("label", _hoisted_72, [_createElementVNode("span", null, _toDisplayString(say("Fault to simulate")), 1), _withDirectives(_createElementVNode("select", { "onUpdate:modelValue": $event => ((mishap) = $event) }, [_createElementVNode("option", _hoisted_74, _toDisplayString(say("nothing")), 1), (_openBlock(true), _createElementBlock(_Fragment, null, _renderList(mishaps, ([word, text]) => {
                return (_openBlock(), _createElementBlock("option", {
                  key: word,
                  value: word
                }, _toDisplayString(text), 9, _hoisted_75))
              }), 128))], 8, _hoisted_73), [[_vModelSelect, mishap]])]), _createElementVNode("button", {
                type: "button",
                class: "button",
                disabled: !mishap,
                onClick: $event => (press('mishap', mishap))
              }, _toDisplayString(say("Simulate this fault")), 9, _hoisted_76)]))
            : _createCommentVNode("", true)
        ], 8, _hoisted_55),
        _createElementVNode("section", {
          class: "keys",
          "aria-label": say('Key and screen')
        }, [
          _createElementVNode("h2", null, _toDisplayString(say("Key and screen")), 1),
          _createElementVNode("p", null, [_createElementVNode("kbd", null, _toDisplayString(keyName), 1), _createTextVNode(" " + _toDisplayString(say("also presses the large button. A foot switch that acts as a keyboard works too.")), 1)]),
          _createElementVNode("div", _hoisted_78, [
            _createElementVNode("button", {
              type: "button",
              class: "button",
              "aria-pressed": String(learning),
              onClick: $event => (learning = !learning)
            }, _toDisplayString(learning ? say("Press the key now") : say("Use another key")), 9, _hoisted_79),
            _createElementVNode("button", {
              type: "button",
              class: "button",
              disabled: key === 'usual',
              onClick: usualKey
            }, _toDisplayString(say("Space and Enter")), 9, _hoisted_80),
            _createElementVNode("button", {
              type: "button",
              class: "button",
              disabled: key === 'none',
              onClick: noKey
            }, _toDisplayString(say("No key")), 9, _hoisted_81),
            _createElementVNode("button", {
              type: "button",
              class: "button",
              onClick: fill
            }, _toDisplayString(full ? say("Leave full screen") : say("Full screen")), 9, _hoisted_82)
          ]),
          _createElementVNode("div", _hoisted_83, [_createElementVNode("label", _hoisted_84, [_createElementVNode("span", null, _toDisplayString(say("Signals: ready, release the trigger, done, repeat")), 1), _createElementVNode("select", {
            value: signalling,
            onChange: chooseSignals
          }, [(_openBlock(true), _createElementBlock(_Fragment, null, _renderList(signalChoices, ([name, text]) => {
            return (_openBlock(), _createElementBlock("option", {
              key: name,
              value: name
            }, _toDisplayString(say(text)), 9, _hoisted_86))
          }), 128))], 40, _hoisted_85)]), _createElementVNode("button", {
            type: "button",
            class: "button",
            disabled: signalling === 'off',
            onClick: trySignal
          }, _toDisplayString(say("Try it")), 9, _hoisted_87)]),
          (signalling !== 'off')
            ? (_openBlock(), _createElementBlock("p", _hoisted_88, _toDisplayString(say("A phone vibrates too. Hammering and ear protection drown sounds: what the screen says counts.")), 1))
            : _createCommentVNode("", true),
          _createElementVNode("p", _hoisted_89, _toDisplayString(said.screens > 1 ? say("{count} screens are open. All show the same run, and each can press the button.", { count: said.screens }) : say("You can close this page or open it on a second screen at any time; the recording goes on.")), 1)
        ], 8, _hoisted_77)
      ]),
      (said.recent.length)
        ? (_openBlock(), _createElementBlock("section", {
            key: 2,
            class: "recent",
            "aria-label": say('Latest runs')
          }, [_createElementVNode("h2", null, _toDisplayString(say("Latest runs")), 1), _createElementVNode("ol", null, [(_openBlock(true), _createElementBlock(_Fragment, null, _renderList(said.recent, (each) => {
            return (_openBlock(), _createElementBlock("li", {
              key: each.run,
              class: _normalizeClass({ aside: each.aside })
            }, [
              _createElementVNode("p", _hoisted_91, [
                _createElementVNode("a", { href: runs + (runs.includes('?') ? '&' : '?') + 'run=' + encodeURIComponent(each.run) }, _toDisplayString(each.run), 9, _hoisted_92),
                _createElementVNode("span", null, _toDisplayString(each.article) + ", " + _toDisplayString(each.tool), 1),
                _cache[7] || (_cache[7] = _createTextVNode()),
                _createElementVNode("span", _hoisted_93, _toDisplayString(each.started), 1)
              ]),
              _createElementVNode("p", _hoisted_94, [
                _createTextVNode(_toDisplayString(each.aside ? say("excluded: {reason}", { reason: each.aside }) : each.says) + " ", 1),
                _createElementVNode("b", null, _toDisplayString(each.score), 1),
                _cache[8] || (_cache[8] = _createTextVNode()),
                (each.note)
                  ? (_openBlock(), _createElementBlock("i", _hoisted_95, _toDisplayString(each.note), 1))
                  : _createCommentVNode("", true)
              ]),
              _createElementVNode("div", _hoisted_96, [(each.aside)
                ? (_openBlock(), _createElementBlock("button", {
                    key: 0,
                    type: "button",
                    class: "button small",
                    disabled: !said.can_decide,
                    "aria-label": say('Include {run} again', { run: each.run }),
                    onClick: $event => (press('put back', each.run))
                  }, _toDisplayString(say("Include")), 9, _hoisted_97))
                : (_openBlock(), _createElementBlock("button", {
                    key: 1,
                    type: "button",
                    class: "button small",
                    disabled: !said.can_decide,
                    "aria-label": say('Exclude {run}', { run: each.run }),
                    onClick: $event => (ask('set aside', say('Exclude {run}', { run: each.run }), say('Reason, for everyone who reads the result'), [each.run]))
                  }, _toDisplayString(say("Exclude")), 9, _hoisted_98)), _createElementVNode("button", {
                type: "button",
                class: "button small",
                disabled: !said.can_decide,
                "aria-label": say('Note on {run}', { run: each.run }),
                onClick: $event => (ask('note', say('Note on {run}', { run: each.run }), say('What others should know'), [each.run], each.note))
              }, _toDisplayString(say("Note")), 9, _hoisted_99), _createElementVNode("label", _hoisted_100, [_createTextVNode(_toDisplayString(say("Sound")), 1), _createElementVNode("input", {
                type: "file",
                accept: "audio/*,.wav",
                "aria-label": say('Sound of run {run}', { run: each.run }),
                onChange: $event => (hear(each.run, $event))
              }, null, 40, _hoisted_101)])]),
              (heard[each.run])
                ? (_openBlock(), _createElementBlock("div", _hoisted_102, [(heard[each.run].busy)
                    ? (_openBlock(), _createElementBlock("p", _hoisted_103, _toDisplayString(say("Reading {file}.", { file: heard[each.run].file })), 1))
                    : (heard[each.run].problem)
                      ? (_openBlock(), _createElementBlock("p", _hoisted_104, _toDisplayString(heard[each.run].problem) + " " + _toDisplayString(heard[each.run].fix), 1))
                      : (_openBlock(), _createElementBlock(_Fragment, { key: 2 }, [_createElementVNode("p", null, [_createElementVNode("strong", null, _toDisplayString(say("Sound and trace: {verdict}", { verdict: heard[each.run].verdict })), 1), _createTextVNode(" (" + _toDisplayString(heard[each.run].file) + ")", 1)]), _createElementVNode("table", null, [_createElementVNode("caption", _hoisted_105, _toDisplayString(say("Sound against trace")), 1), _createElementVNode("thead", null, [_createElementVNode("tr", null, [(_openBlock(true), _createElementBlock(_Fragment, null, _renderList(heard[each.run].rows[0], (head, at) => {
                          return (_openBlock(), _createElementBlock("th", {
                            key: at,
                            scope: "col"
                          }, _toDisplayString(head || say("of the run")), 1))
                        }), 128))])]), _createElementVNode("tbody", null, [(_openBlock(true), _createElementBlock(_Fragment, null, _renderList(heard[each.run].rows.slice(1), (row) => {
                          return (_openBlock(), _createElementBlock("tr", { key: row[0] }, [_createElementVNode("th", _hoisted_106, _toDisplayString(row[0]), 1), (_openBlock(true), _createElementBlock(_Fragment, null, _renderList(row.slice(1), (cell, at) => {
                            return (_openBlock(), _createElementBlock("td", { key: at }, _toDisplayString(cell), 1))
                          }), 128))]))
                        }), 128))])]), (_openBlock(true), _createElementBlock(_Fragment, null, _renderList(heard[each.run].says, (each) => {
                          return (_openBlock(), _createElementBlock("p", { key: each }, _toDisplayString(each), 1))
                        }), 128))], 64))]))
                : _createCommentVNode("", true)
            ], 2))
          }), 128))])], 8, _hoisted_90))
        : _createCommentVNode("", true),
      asking
        ? (_openBlock(), _createElementBlock("div", {
            key: 3,
            class: "asked",
            role: "dialog",
            "aria-modal": "false",
            "aria-label": asking.title,
            onKeydown: _withKeys($event => (asking = null), ["escape"])
          }, [
            _createElementVNode("strong", null, _toDisplayString(asking.title), 1),
            _createElementVNode("label", _hoisted_108, [_createElementVNode("span", null, _toDisplayString(asking.label), 1), _withDirectives(_createElementVNode("input", {
              ref: "asked",
              "onUpdate:modelValue": $event => ((typed) = $event),
              maxlength: "300",
              placeholder: asking.hint,
              required: asking.must,
              onKeydown: _withKeys(_withModifiers($event => (asking.must || answer()), ["prevent"]), ["enter"])
            }, null, 40, _hoisted_109), [[_vModelText, typed]])]),
            (asking.must)
              ? (_openBlock(), _createElementBlock("p", _hoisted_110, _toDisplayString(say("Type it, then press the button here. The rig's key or foot switch does not answer this question.")), 1))
              : _createCommentVNode("", true),
            _createElementVNode("div", _hoisted_111, [_createElementVNode("button", {
              type: "button",
              class: "button primary",
              disabled: asking.must && !typed.trim(),
              onClick: answer
            }, _toDisplayString(asking.title), 9, _hoisted_112), _createElementVNode("button", {
              type: "button",
              class: "button",
              onClick: $event => (asking = null)
            }, _toDisplayString(say("Cancel")), 9, _hoisted_113)])
          ], 40, _hoisted_107))
        : _createCommentVNode("", true)
    ], 8, _hoisted_1))
  }
}
};
